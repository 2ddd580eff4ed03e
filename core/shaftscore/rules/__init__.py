"""The meaning of each rule, once: its slack as a function of the times of events, over arrays."""
