"""The checker behind HTTP: the answers of the command line, for programs.

`create_app` makes the ASGI application. The process that listens decides nothing: each question goes to a worker
process of its own, so that one that takes too long can be ended without harm to the others.
"""
