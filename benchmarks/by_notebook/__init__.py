"""The same machine by a notebook with general libraries, and by Shaftscore: lines of code, and time."""
