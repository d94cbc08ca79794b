"""From photo marks and tape lengths to a scaled floor outline that says how sure it is.

The room does no input or output of its own: bytes and numbers come in, frozen results go out.
Other rooms may use two doors only: `floor` (the solved floor) and `tape` (lengths as people write them).
"""
