"""Telling the accounts' own systems: what is said, how it is signed, and how it is sent without being misled.

Here belong the body, the signature and the connection. Which deliveries are due is kept in `service.records`.
"""
