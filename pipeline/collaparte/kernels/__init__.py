"""Arrays in, arrays out: nothing here knows a table, an instrument or a file."""
