//! The procedures that come with the program, and those a laboratory writes beside them.
//!
//! Here: finding a procedure by its name, by the beginning of its name or by a path, and reading it. Not here: what a
//! procedure means (the crate `procedure`).
//!
//! **Invariant:** what is returned is checked without an error, and `sha256` is that of exactly its `text`.

use std::borrow::Cow;
use std::path::Path;

use procedure::nearest::nearest;
use procedure::{Edition, Procedure};
use quantity::System;
use sha2::{Digest as _, Sha256};

/// A procedure file that comes with the program, checked when the program was built.
#[derive(Copy, Clone, Debug)]
pub struct Shipped {
    /// Its id.
    pub id: &'static str,
    /// Its file name, for messages.
    pub file: &'static str,
    /// Its text.
    pub text: &'static str,
    /// The SHA-256 of its text, in hexadecimal.
    pub sha256: &'static str,
    /// What it says in each unit system, as the build found it.
    editions: &'static [(System, &'static [u8])],
}

include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

impl Shipped {
    /// What it says in one unit system: the same that checking its text gives, without the time that takes.
    ///
    /// `None` if it is not stated in that system.
    pub fn edition(&self, system: System) -> Option<Edition> {
        let (_, bytes) = self.editions.iter().find(|(stated, _)| *stated == system)?;
        // What the build wrote can be read; a damaged program falls back on the text.
        postcard::from_bytes(bytes).ok().or_else(|| {
            let checked = procedure::check(self.file, self.text);
            checked.procedure.and_then(|procedure| procedure.edition(system).cloned())
        })
    }

    /// The unit systems it is stated in, in the order of the file.
    pub fn systems(&self) -> impl Iterator<Item = System> + '_ {
        self.editions.iter().map(|(system, _)| *system)
    }
}

/// A procedure that was found, read and checked.
#[derive(Clone, Debug)]
pub struct Found {
    /// The file's name, for messages.
    pub file: String,
    /// The file's text.
    pub text: Cow<'static, str>,
    /// The SHA-256 of the text, in hexadecimal.
    pub sha256: Cow<'static, str>,
    /// What it says.
    says: Says,
}

#[derive(Clone, Debug)]
enum Says {
    Shipped(&'static Shipped),
    Own(Box<Procedure>),
}

impl Found {
    /// Its id.
    pub fn id(&self) -> &str {
        match &self.says {
            Says::Shipped(shipped) => shipped.id,
            Says::Own(procedure) => &procedure.id,
        }
    }

    /// The unit systems it is stated in, in the order of the file.
    pub fn systems(&self) -> Vec<System> {
        match &self.says {
            Says::Shipped(shipped) => shipped.systems().collect(),
            Says::Own(procedure) => procedure.editions.iter().map(|edition| edition.system).collect(),
        }
    }

    /// What it says in one unit system, if it is stated in it.
    pub fn edition(&self, system: System) -> Option<Edition> {
        match &self.says {
            Says::Shipped(shipped) => shipped.edition(system),
            Says::Own(procedure) => procedure.edition(system).cloned(),
        }
    }
}

/// Why no procedure was found.
#[derive(Debug, thiserror::Error)]
pub enum NotFound {
    /// No shipped procedure has that name, and it is no path of a file.
    #[error("there is no method called “{name}”")]
    Unknown {
        /// What was asked for.
        name: String,
        /// The nearest known name.
        nearest: Option<&'static str>,
    },
    /// The beginning of several names.
    #[error("“{name}” may be {}", among.join(" or "))]
    Ambiguous {
        /// What was asked for.
        name: String,
        /// The names that begin like that.
        among: Vec<&'static str>,
    },
    /// The file cannot be read.
    #[error("cannot read {file}")]
    Read {
        /// The file.
        file: String,
        /// Why.
        source: std::io::Error,
    },
    /// The file has errors.
    #[error("{file} cannot be used as a procedure")]
    Faulty {
        /// The file.
        file: String,
        /// All of its faults, shown at their places.
        shown: String,
    },
}

impl NotFound {
    /// What to do next.
    pub fn hint(&self) -> String {
        match self {
            Self::Unknown { nearest: Some(nearest), .. } => format!("Did you mean “{nearest}”?"),
            Self::Unknown { .. } => "“pourside methods” lists them; a path to a .toml file does as well.".to_owned(),
            Self::Ambiguous { .. } => "Write more of it.".to_owned(),
            Self::Read { .. } => "Check the name of the file and that you may read it.".to_owned(),
            Self::Faulty { shown, .. } => format!("Mend these faults:\n\n{shown}"),
        }
    }
}

/// Finds, reads and checks a procedure: by the id of a shipped one, by the beginning of one, or by a path.
///
/// # Errors
///
/// [`NotFound`].
///
/// ```
/// use coach::rim::library;
/// let wrong = library::find("air-volumetrik", false).unwrap_err();
/// assert_eq!(wrong.hint(), "Did you mean “air-volumetric”?");
/// ```
pub fn find(name: &str, colour: bool) -> Result<Found, NotFound> {
    let looks_like_a_path = name.contains(['/', '\\']) || name.ends_with(".toml");
    if looks_like_a_path {
        let read = std::fs::read_to_string(Path::new(name));
        let text = read.map_err(|source| NotFound::Read { file: name.to_owned(), source })?;
        return check(name, text.into(), colour);
    }
    let shipped = shipped(name)?;
    Ok(Found {
        file: shipped.file.to_owned(),
        text: shipped.text.into(),
        sha256: shipped.sha256.into(),
        says: Says::Shipped(shipped),
    })
}

/// The shipped procedure called `name`, or the only one that begins so.
///
/// # Errors
///
/// [`NotFound::Unknown`] or [`NotFound::Ambiguous`].
pub fn shipped(name: &str) -> Result<&'static Shipped, NotFound> {
    if let Some(exact) = SHIPPED.iter().find(|shipped| shipped.id == name) {
        return Ok(exact);
    }
    let unknown = || NotFound::Unknown { name: name.to_owned(), nearest: nearest(name, SHIPPED.iter().map(|s| s.id)) };
    let begins: Vec<_> = SHIPPED.iter().filter(|s| !name.is_empty() && s.id.starts_with(name)).collect();
    match begins.as_slice() {
        [] => Err(unknown()),
        [one] => Ok(one),
        several => Err(NotFound::Ambiguous { name: name.to_owned(), among: several.iter().map(|s| s.id).collect() }),
    }
}

/// Checks the text of a procedure.
///
/// # Errors
///
/// [`NotFound::Faulty`] with all of its errors.
pub fn check(file: &str, text: Cow<'static, str>, colour: bool) -> Result<Found, NotFound> {
    let checked = procedure::check(file, &text);
    match checked.procedure {
        Some(procedure) => Ok(Found {
            file: file.to_owned(),
            sha256: sha256(&text).into(),
            says: Says::Own(Box::new(procedure)),
            text,
        }),
        None => {
            let shown = procedure::diagnose::render(file, &text, &checked.diagnostics, colour);
            Err(NotFound::Faulty { file: file.to_owned(), shown })
        }
    }
}

/// The SHA-256 of a text in hexadecimal.
///
/// ```
/// // FIPS 180-2, appendix B.1: the digest of "abc".
/// let abc = coach::rim::library::sha256("abc");
/// assert_eq!(abc, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
/// ```
pub fn sha256(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().fold(String::with_capacity(64), |mut hex, byte| {
        hex.extend([byte >> 4, byte & 15].map(|digit| char::from(b"0123456789abcdef"[usize::from(digit)])));
        hex
    })
}
