"""A machine built by hand: real keys and mouse in the real window, counted, and the time they would take.

xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" python -m benchmarks.by_hand
"""
