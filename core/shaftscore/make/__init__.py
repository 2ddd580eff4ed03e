"""The parts of a machine: solids, drawings, files, the sheet, their proof, and corrections."""
