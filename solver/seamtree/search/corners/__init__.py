"""Parts with hard corners: the local rule, the model on it, all paths where they are few, and narrow cuts."""
