"""The process that serves the phone: it reads, it passes acts on, it decides nothing."""
