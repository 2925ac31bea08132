"""Values against limits, with delays: samples in, edges out."""
