"""Files in and out: readers take text or a stream and give rows for an edit; rooms never open a file."""
