//! From two files to a scene in the shop frame.
