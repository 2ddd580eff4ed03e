"""What is left of the build sheet: the drilling template on paper and drawings of followers as files."""
