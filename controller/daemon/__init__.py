"""The process that owns the rig: a deadline loop, its signals, its socket."""
