"""Tables for a spreadsheet: the price book, a row for each pack, there and back; what a plan counted, out alone.

Here belong the columns, reading and writing of files, and finding what is wrong in them, row by row. How numbers and
days are read is settled once for the whole file, by the rules in `settling`. What a price book may hold is said by
`api_schema`; storing it belongs to the API.
"""
