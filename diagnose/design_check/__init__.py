"""Floor 6: the mistakes of a design found on paper, and the build sheet; judges a description, reads no file."""
