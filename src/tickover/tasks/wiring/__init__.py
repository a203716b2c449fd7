"""The loom: what it feeds, which wires follow, how thick, in which order they are tested."""
