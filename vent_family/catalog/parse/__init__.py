"""From the bytes of a spreadsheet file to cells, and from cells to values."""
