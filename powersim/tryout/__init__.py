"""The page of `powersim try`: a server on this computer alone, the questions it takes, its assets.

`server.py` takes plain functions and knows nothing of boats; what it lets in is decided in
`guard.py`, `ask_body.py` and `connections.py`. `session.py` has those functions for one passage
folder; what they know of the boat is in `fields.py`, and what they work out in `trials.py`.
"""
