"""The review in progress: position, session and undo. It knows no Textual and no decoder."""
