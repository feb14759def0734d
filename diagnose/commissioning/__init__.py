"""Proving a new installation: so far the verdict on one reading and the drift of a joint; asks and opens nothing."""
