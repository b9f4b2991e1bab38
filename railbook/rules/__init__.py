"""Published rules as data: a file for each edition, and what reads them."""
