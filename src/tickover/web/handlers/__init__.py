"""One module per page: read what is asked, draw a page object or append entries."""
