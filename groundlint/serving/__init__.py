"""The language server: what an editor asks of plans, procedures and books while they are written.

Reading goes on in the server's own process, a text at a time. Reviews are made in others (`worker.py`), since they take
from a tenth of a second to a minute: first without a circuit solved, which is soon there, and then whole. What was
reviewed and is no longer the text is dropped. Files are read and never written.
"""
