"""Small controls that several views share; none of them knows the document."""
