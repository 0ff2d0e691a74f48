"""The HTTP verbs, one file per resource, and nothing else.

What travels is described in `api_schema`, what is kept in `service.records`. No SQL and no arithmetic here.
"""
