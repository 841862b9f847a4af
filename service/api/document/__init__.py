"""The published document: what the interface says of itself.

Responsible for the OpenAPI document, made from what the views declare, and for the pages that show it. Refuses to answer
for any kitchen: nothing here reads its data.
"""
