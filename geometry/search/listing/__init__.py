"""What a search chooses from: stacks of a zone, states of obstacles, pumps on their own feet."""
