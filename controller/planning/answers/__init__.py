"""What a batch sheet tells a person, question by question."""
