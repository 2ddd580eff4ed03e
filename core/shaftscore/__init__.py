"""Shaftscore's model and solver: pure Python and numpy, without Qt.

Read the folders in the order in which a project is solved: `model` (what the maker says), `edits`
(how it changes), `motion` (the output over the turn), `followers` and `profiles` (the disc that makes
it), `solution`, `checks`, `flow` and `loads` (what is wrong with it), `solids`, `export` and `proof`
(the parts).
"""
