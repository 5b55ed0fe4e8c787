//! The append-only record of a run: one file, one JSON line per entry, on the disk before it counts.
//!
//! Here: making a journal, appending, reading it back after a crash, and telling a torn last write from damage.
//! Not here: what an entry means. A payload is any JSON object; procedures, clocks and screens are unknown here.
//!
//! **Invariant:** an entry whose [`Journal::append`] returned `Ok` is read back unchanged, or the file is
//! refused or the loss reported. What is not acknowledged may be lost; nothing else may. Damage is reported,
//! never repaired silently.
//!
//! The bytes are described in `FORMAT.md` beside this crate, for somebody who has only the file.
//!
//! # Example
//!
//! ```
//! use journal::Journal;
//! use serde_json::json;
//!
//! let folder = tempfile::tempdir()?;
//! let path = folder.path().join("truck-12.jsonl");
//!
//! let mut journal = Journal::create(&path, &json!({"began": "air-volumetric"}))?;
//! let n = journal.append(&json!({"reading": "4.25"}))?;
//! assert_eq!(n, 1);
//! drop(journal); // the battery dies
//!
//! let (journal, recovered) = Journal::open(&path)?;
//! assert_eq!(journal.len(), 2);
//! assert_eq!(recovered.entries[1].json(), r#"{"reading":"4.25"}"#);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Files beside the journal
//!
//! | file                    | what it is                                                                      |
//! |-------------------------|---------------------------------------------------------------------------------|
//! | `<journal>.lock`        | empty; held by the one writer, released by the system when the program ends     |
//! | `<journal>.new`         | a journal being made; left only by a crash, removed by the next create          |
//! | `<journal>.torn-<n>`    | the bytes of a last entry `n` that was cut off; kept for good, never overwritten |
//!
//! # What the chain does not show
//!
//! The sums find decay and clumsy edits. Somebody who recomputes every sum to the end, or removes whole lines
//! from the end, leaves a journal that reads as sound: keep the last sum elsewhere if that matters.

mod error;
mod line;
mod scan;
mod store;
mod writer;

pub use error::{AppendError, CreateError, Damaged, OpenError, PayloadError, Step};
pub use line::VERSION;
pub use scan::{Entry, Recovered, Torn, read_bytes, salvage_bytes};
pub use store::{Disk, DiskLock, Store};
pub use writer::{Journal, read, salvage};
