"""The price book as a table: a row for each pack, as CSV or as a spreadsheet.

Here belong the columns, reading and writing of files, and finding what is wrong in them, row by row. What a price
book may hold is said by `api_schema`; storing it belongs to the API.
"""
