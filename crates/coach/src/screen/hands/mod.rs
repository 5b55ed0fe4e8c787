//! Hands-free: whatever is shown, led by ear, by foot, by voice, by one switch.
//!
//! Here: one layer over a run or a bench. It turns pedals, lines and switches into the keys a person would have pressed,
//! and what the run says into what is heard. Not here: what an act does; loudspeakers and recognisers.
//!
//! **Invariant:** nothing reaches the run that could not have been done with keys, and no spoken value is entered before
//! it was read back and confirmed.

pub mod far;
pub mod keymap;
pub mod settings;
pub mod words;

pub use settings::Settings;

/// Something shown, led hands-free.
#[derive(Debug)]
pub struct Hands<S> {
    /// What is shown.
    pub inner: S,
    /// How the hands are kept free.
    pub settings: Settings,
}
