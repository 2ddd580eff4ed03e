"""What stands around the faces of the Flow view: the run, the switch, cards, the table, and counts below."""
