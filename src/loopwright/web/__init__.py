"""The workroom: the page on which a developer works, and the JSON door beside it. Pages are thin."""
