//! What is listened to, as told on the command line.
//!
//! Here: the flags. Not here: the settings file, which they override.
//!
//! **Invariant:** what is not told on the command line stays as it was set.

use std::path::PathBuf;

use clap::Args;

use crate::rim::config::Listening;

/// Where lines of words come from.
#[derive(Clone, Debug, Default, PartialEq, Eq, Args)]
#[command(next_help_heading = "Listening")]
pub struct ListenArgs {
    /// Read lines of words from this FIFO; it is made if it is missing.
    #[arg(long, value_name = "PATH")]
    pub listen_fifo: Option<PathBuf>,
    /// Read lines of words from this unix socket; nobody else on this machine can use it.
    #[arg(long, value_name = "PATH")]
    pub listen_socket: Option<PathBuf>,
    /// Start this program with all that follows as its arguments (up to “;”), and read lines of words from it.
    #[arg(long, value_name = "PROGRAM", num_args = 1.., allow_hyphen_values = true, value_terminator = ";")]
    pub listen_cmd: Option<Vec<String>>,
    /// Read lines of words from standard input; keys still come from the terminal.
    #[arg(long)]
    pub listen_stdin: bool,
    /// Write the words valid now into this file, and the same as a grammar beside it with the ending .jsgf.
    #[arg(long, value_name = "PATH")]
    pub words_out: Option<PathBuf>,
}

impl ListenArgs {
    /// What is listened to: what was told, else what was set.
    #[must_use]
    pub fn over(self, set: Listening) -> Listening {
        Listening {
            fifo: self.listen_fifo.or(set.fifo),
            socket: self.listen_socket.or(set.socket),
            command: self.listen_cmd.or(set.command),
            stdin: self.listen_stdin || set.stdin,
            words_out: self.words_out.or(set.words_out),
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;

    use super::*;

    #[derive(Debug, clap::Parser)]
    struct Line {
        #[command(flatten)]
        listen: ListenArgs,
        method: Option<String>,
    }

    fn told(line: &str) -> Line {
        Line::try_parse_from(std::iter::once("pourside").chain(line.split(' '))).unwrap()
    }

    #[test]
    fn what_is_told_wins_over_what_is_set() {
        let set = Listening {
            fifo: Some("set".into()),
            socket: Some("set".into()),
            command: Some(vec!["set".into()]),
            stdin: true,
            words_out: None,
        };
        let told = told("slump --listen-fifo told --words-out w --listen-cmd ear --model small -v");
        assert_eq!(told.method.as_deref(), Some("slump"));
        let command = ["ear", "--model", "small", "-v"].map(str::to_owned).to_vec();
        let all = told.listen.over(set.clone());
        assert_eq!(
            all,
            Listening { fifo: Some("told".into()), command: Some(command), words_out: Some("w".into()), ..set.clone() }
        );
        assert_eq!(ListenArgs::default().over(set.clone()), set);
    }

    #[test]
    fn a_program_ends_at_the_semicolon() {
        let told = told("--listen-cmd ear -v ; slump");
        assert_eq!(told.listen.listen_cmd, Some(vec!["ear".to_owned(), "-v".to_owned()]));
        assert_eq!(told.method.as_deref(), Some("slump"));
    }
}
