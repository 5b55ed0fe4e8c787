//! The program `pourside`. Everything is in the library; here it only begins.

use std::process::ExitCode;

fn main() -> ExitCode {
    coach::rim::cli::main()
}
