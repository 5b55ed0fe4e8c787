//! What lines of words mean while one instrument is asked for; for measuring a recogniser from a script.
//!
//! Standard input, a command a line:
//!
//! | line | answer |
//! |------|--------|
//! | `scale STEP LOWEST HIGHEST [UNIT]` | none: this instrument is asked from now on |
//! | `scale none` | none: no number is asked from now on |
//! | `phrase WORDS` | none: this phrase is valid from now on, too |
//! | `phrase none` | none: no phrase is valid any more |
//! | `grammar` | the grammar that would be published, then a line `end` |
//! | `hear LINE` | one line: `number 2.75`, `phrase step done`, or `refused` and why |
//!
//! `LINE` is as a recogniser sends it, tags and all. A command that is no such line ends the program.

use std::error::Error;
use std::io::{BufRead as _, Write as _};

use hearing::vocabulary::Entry;
use hearing::{Heard, Vocabulary};
use quantity::{Scale, Unit};

fn main() -> Result<(), Box<dyn Error>> {
    let mut valid: Vocabulary<String> = Vocabulary { entries: Vec::new(), number: None };
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        match line.split_once(' ').unwrap_or((&line, "")) {
            ("scale", "none") => valid.number = None,
            ("scale", scale) => valid.number = Some(instrument(scale)?),
            ("phrase", "none") => valid.entries.clear(),
            ("phrase", words) => {
                valid.entries.push(Entry { means: words.to_owned(), phrases: vec![words.to_owned()] });
            }
            ("grammar", "") => writeln!(out, "{}end", valid.jsgf())?,
            ("hear", line) => writeln!(out, "{}", understood(&valid, line))?,
            _ => return Err(format!("no command: {line}").into()),
        }
        out.flush()?;
    }
    Ok(())
}

fn instrument(text: &str) -> Result<Scale, Box<dyn Error>> {
    let mut words = text.splitn(4, ' ');
    let mut number = || words.next().ok_or("a scale has a step, a lowest and a highest mark");
    let (step, min, max) = (number()?.parse()?, number()?.parse()?, number()?.parse()?);
    let unit = match words.next() {
        Some(unit) => Unit::parse(unit)?,
        None => Unit::NONE,
    };
    Ok(Scale::new(step, min, max, unit)?)
}

fn understood(valid: &Vocabulary<String>, line: &str) -> String {
    let utterance = match hearing::line::read(line.as_bytes()) {
        Ok(utterance) => utterance,
        Err(why) => return format!("refused {why}"),
    };
    match valid.hear(&utterance.words) {
        Heard::Phrase(phrase) => format!("phrase {phrase}"),
        Heard::Number(value) => format!("number {}", value.normalize()),
        Heard::NotTaken(why) => format!("refused {why}"),
        Heard::NotUnderstood => "refused not understood".to_owned(),
    }
}
