"""What a browser sees: server-rendered pages and their assets, all served by us.

A page does a thing by the API's own operation (`operations.ask`), so that both do it one way; what is drawn or written
for the screen alone belongs here, what is computed does not. Forms name their fields by JSON Pointer (`forms`), every
page of an account goes through `serving`, and scripts only add to what works without them or say what they need.
"""
