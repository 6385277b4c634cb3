//! Scan files, read into flat arrays in file units. One file a format.
