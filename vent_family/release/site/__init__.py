"""The library as pages for people: written whole, read from a disk, a share or a server."""
