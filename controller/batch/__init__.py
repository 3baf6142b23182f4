"""The run itself: what is read, what a person may say, and what the outputs do about it."""
