"""The exchange: from a request to the answer of a declared view.

Responsible for what every exchange shares: who calls and how often, ids, sessions, repetitions, problems, figures.
Refuses to know nouns: it runs whatever view was declared.
"""
