"""The worked examples of the page of rules, computed again: service/kitchen/README.md says what the kitchen does."""
