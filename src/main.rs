//! Exit code only; everything else is in the library and in `cli`.

fn main() {}
