"""Drawings made to be wrong, and what must hold for each: an answer that the replay takes, or a clear word, soon.

``python -m tests.fuzz`` makes many from seeds; ``python -m tests.fuzz.by_coverage`` lets atheris look for new ways
through a reader (needs the extra ``fuzz``); ``tests/properties/test_fuzz.py`` makes a few on every run of the tests.
``python -m tests.fuzz.formats`` changes bytes of PDF and DXF files.
"""
