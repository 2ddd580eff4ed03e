"""Motion: laws, the segments of a lane's turn, and the intervals of its states."""
