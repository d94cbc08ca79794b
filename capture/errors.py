"""What capture refuses, in one sentence a person can act on."""


class CaptureError(Exception):
    """No honest answer exists for these readings.

    `slug` names the kind of fault (listed in README.md), `where` the place in the job, such as
    ``tape[3]`` or ``photos[0].marks[2]``; the message says what was found, what was needed and the way out.
    """

    def __init__(self, slug: str, message: str, *, where: str = "") -> None:
        super().__init__(message)
        self.slug = slug
        self.where = where
