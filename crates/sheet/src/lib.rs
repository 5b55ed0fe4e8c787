//! The sheet of one sample: plain data in, a document out.
//!
//! Here: what a sheet says ([`Sheet`]) and the seven forms it is given in: [`text`], [`json`], [`csv`], [`html`],
//! [`pdf`], [`svg`] (the timeline alone) and [`ics`] (what is due later). The JSON and the CSV are described in
//! `SHEET.md` beside this crate, the JSON also in `sheet.schema.json`. A [`paper`] is a document of headings, texts and
//! tables on anything else.
//!
//! Not here: how a result is computed, judged or rounded, what a procedure asks, what time it is, where a file goes.
//! Whoever fills a [`Sheet`] has decided all of that already; nothing here computes with a reading.
//!
//! **Invariant:** every form says everything the sheet holds, except that the timeline is a picture, the calendar holds
//! only what is due, and the CSV leaves the notices out. Nothing is cut off to make it fit: what does not fit goes on
//! another line or another page. The same sheet gives the same bytes.

mod chart;
mod csv;
mod helvetica;
mod html;
mod ics;
mod json;
mod markup;
mod model;
mod moment;
mod palette;
pub mod paper;
mod pdf;
mod svg;
mod text;
mod words;
mod wrap;

pub use csv::{COLUMNS, render as csv};
pub use html::render as html;
pub use ics::{NotATime, render as ics};
pub use json::{NotASheet, SCHEMA, read as from_json, render as json};
pub use model::{
    Apparatus, Appointment, Block, BlockKind, Correction, Curing, Delivery, Discarded, Fact, Finding, Head, Judged,
    Kept, Mark, Measured, Overruled, Purpose, Record, RunRecord, Sheet, SpecimenSet, Standing, Status, System,
    Technician, Term, TestResult, Timeline, TimelineRow, Verdict, Weather, Window, WindowEnd,
};
pub use pdf::render as pdf;
pub use svg::render as svg;
pub use text::{PAGE_LINES, WIDTH, render as text};

#[cfg(test)]
extern crate self as sheet;

#[cfg(test)]
#[path = "../tests/forms/fixture.rs"]
mod fixture;
