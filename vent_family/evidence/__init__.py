"""Check layer: evidence measured on the finished solid; never prints."""
