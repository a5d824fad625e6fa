"""The page for those without an editor: served to a browser of this machine, which speaks to the language server.

The text, its marks and its fixes are those of `groundlint.serving`; here is what a page takes beside: the file, the
doors, and the page itself.
"""
