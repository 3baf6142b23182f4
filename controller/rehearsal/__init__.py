"""A whole batch headless on the simulated rig, as fast as the machine goes."""
