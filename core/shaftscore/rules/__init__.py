"""The meaning of each rule, once, as a function of the times of events.

One module for each kind: `exclusive`, `requires`, `order` and `guarded` between lanes; `opening`, `headway`,
`diverter`, `outlet`, `stock` and `supply` for items (`items` follows their ways). Each says

- on which states, and so lanes, it depends,
- its *slack*: what is left before it breaks, degrees of the master shaft, negative where it is broken, over
  arrays (n,) of machines, of which the nominal one may be the only one; or over arrays of pairs of intervals,
- its *inequalities*, sums of event times that are at least 0, for whoever places blocks.

`kinds` is the table of the rules of a project, `times` says what a machine's events are, `survival` what
error a slack must survive.
"""
