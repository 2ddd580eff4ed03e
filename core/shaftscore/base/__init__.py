"""What everything else stands on: errors, tolerances, progress, angles on the circle, quantities as text."""
