"""Floor 2: the wiring as a graph, solved as a circuit in many variants at once; faults as small changes of it."""
