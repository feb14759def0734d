"""The guided walk as a machine of states without input, output or clock: events in, a question or a finding out."""
