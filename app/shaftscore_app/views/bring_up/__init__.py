"""The Bring-up view: the machine cranked by hand, what each lane did, and what explains the differences.

`session` holds the work, `words` what is said; `crank`, `board` (with `card_places` and `card_painting`),
`measuring`, `seen`, `causes` and `symptoms` are its parts, `ranking` has causes ranked, `view` puts all
together.
"""

from shaftscore_app.views.bring_up.view import BringUpView

__all__ = ["BringUpView"]
