"""The nouns: one module of views for each, a declaration and a few lines a view.

Responsible for what can be asked of a noun, of whom, and what comes back. Refuses to know other nouns, how a request
travels, and how anything is planned or stored.
"""
