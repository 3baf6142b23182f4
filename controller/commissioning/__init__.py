"""The rig on the bench: what is wired, that it does what it should, and the dated record of it."""
