"""The watch: values from raw readings, limits, alarms, record, screen."""
