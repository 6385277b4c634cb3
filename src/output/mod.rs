//! Files for the bench: solids, tables, drawings, the report. Written whole or not at all.
