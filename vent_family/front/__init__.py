"""Front ends: the command line and the CadQuery plugin."""
