"""Pure geometry of drawings, shared by screen and paper."""
