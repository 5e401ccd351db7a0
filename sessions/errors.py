"""The error tree. Every message is one sentence: what is wrong, where, and what to do.

FramecallError
|-- EventError       an event file cannot be used
|-- KeymapError      a keymap file cannot be used
|-- FootageError     a footage file cannot be opened or judged
|-- SessionError     a session file cannot be used
|   |-- DamagedSession   a line of the journal is not what was written
|   |-- ForeignSession   not a session file, or of a version this program does not know
|   |-- SessionInUse     another program holds the session open
|   `-- WriteRefused     the disk did not take an entry
|       `-- SessionLost      the open session's path names another file, or none
|-- EntryRefused     an entry contradicts the session as it stands
|   `-- ReviewClosed       the review is finished, and must be reopened first
|-- DocumentError    a document cannot be issued
`-- TerminalError    the terminal cannot show the bench
"""


class FramecallError(Exception):
    """Anything the user can put right; ``str(error)`` is the sentence to show."""


class EventError(FramecallError):
    """An event file cannot be used."""


class KeymapError(FramecallError):
    """A keymap file cannot be used."""


class FootageError(FramecallError):
    """A footage file cannot be opened or judged."""


class SessionError(FramecallError):
    """A session file cannot be used."""


class DamagedSession(SessionError):
    """A line of the journal is not what was written."""


class ForeignSession(SessionError):
    """Not a session file, or one of a version this program does not know."""


class SessionInUse(SessionError):
    """Another program holds the session open."""


class WriteRefused(SessionError):
    """The disk did not take an entry; the session holds all entries before it."""


class SessionLost(WriteRefused):
    """The path of an open session no longer names what was written: it must be saved elsewhere."""


class EntryRefused(FramecallError):
    """An entry contradicts the session as it stands; nothing was written."""


class ReviewClosed(EntryRefused):
    """The review is finished; it must be reopened, with a reason, before it is changed."""


class DocumentError(FramecallError):
    """A document cannot be issued."""


class TerminalError(FramecallError):
    """The terminal cannot show the bench."""
