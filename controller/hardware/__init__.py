"""What the rig is made of: the real one, the pretend one, and the plant behind it."""
