"""Mutation testing: small changes to the code that some test must notice; not part of the suite."""
