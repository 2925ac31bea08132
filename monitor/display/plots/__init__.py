"""Charts; the only code that imports pyqtgraph."""
