"""Files of a writer, put in their place as a command does."""

from assembly.files.writing import publish_each


def wrote(files_of, *how):
    """Write what a writer returns and return the paths."""
    return publish_each(files_of(*how))
