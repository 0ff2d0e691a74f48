"""What a browser sees: server-rendered pages and their assets, all served by us."""
