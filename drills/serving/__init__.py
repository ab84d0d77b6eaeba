"""The drill in a browser: a small server that gives each visitor a process of the program.

Needs the extra `serve` (textual-serve). `guard` decides who may come in and imports nothing heavy;
`server` answers the browser; `visit` starts and ends a visitor's process; `visitor` is what runs in
that process, and `driver` ends it when the server is gone.
"""
