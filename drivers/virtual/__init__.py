"""The other end of the wire: virtual instruments and the rig behind them."""
