"""The book: items, ingredients, recipes, menu items and sites, as the documents say them.

Responsible for the values that documents are read into, for what is in force when and where, and for what a recipe's
lines take, use and change. Refuses to know forecasts, stock and days: nothing here is planned.
"""
