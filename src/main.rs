//! The door: hands the arguments to the command line.

fn main() {}
