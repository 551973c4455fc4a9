"""What other programs read and write: the lists of the pages without what is private, and a few acts.

`resources` and `tables` say what is read, `writes` what is written; API, its published description and the page
that explains it are all made from these.
"""

#: Where the addresses of this version begin; what changes so that programs would stumble begins a new one.
PREFIX = "/api/v1"
