"""Handing a style over on its page: issues of its pack, the pages to look at, questions and answers."""
