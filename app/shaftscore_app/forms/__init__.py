"""Forms made from the records of the file format: one row a field, with unit, range and checks.

`specs` reads the records, `words` holds what people call the fields, `editors` and the modules beside it
make the widgets, `record_form` puts them together. A form holds a *draft*: plain values as they stand in
a file (`shaftscore.edits.drafts`), so that what is being typed may be wrong for a while and says so.
"""
