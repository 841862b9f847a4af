"""The wire: bytes and headers, on the way in and on the way out.

Responsible for bodies, strict JSON, media types, compression and entity tags. Refuses to know who calls, and what a value
means.
"""
