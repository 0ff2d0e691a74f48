"""The web process: the HTTP API, the pages, the records they keep, the settings and the command.

It sends work to the queue by task name and never imports `workers`, so that it loads neither the solver nor the
PDF engine.
"""
