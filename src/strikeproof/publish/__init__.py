"""Charts and the page: what was found, for people, in files that need nothing else.

Its modules are imported one by one: the words and tables of results wake no plotting library.
"""
