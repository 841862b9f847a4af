"""The shapes of the interface: bodies, queries and answers, one module per noun."""
