//! What a specimen is like, and what will happen to it.

use std::sync::Arc;

use procedure::Edition;

use crate::ways::{self, Branch, NoWay, Way};

/// One specimen for one practice run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scenario {
    /// Everything random comes from it.
    pub seed: u64,
    /// What must come about, found by walking the procedure; the clean way for an ordinary specimen.
    pub way: Way,
    /// What is so where the way tells nothing, such as in an attempt after its end; by it a specimen is ordinary again.
    pub after: Option<Way>,
}

impl Scenario {
    /// An ordinary specimen, which leads to a result.
    ///
    /// # Errors
    ///
    /// [`NoWay`] if the procedure has no clean way to a result.
    pub fn clean(edition: &Arc<Edition>, seed: u64) -> Result<Self, NoWay> {
        Ok(Self { seed, way: ways::clean(edition, seed)?, after: None })
    }

    /// A specimen with which `branch` comes about if the person does what is right.
    ///
    /// # Errors
    ///
    /// [`NoWay`] if no way to the branch was found.
    pub fn toward(edition: &Arc<Edition>, branch: &Branch, seed: u64) -> Result<Self, NoWay> {
        let way = ways::way_to(edition, branch, seed)?;
        Ok(Self { seed, way, after: ways::clean(edition, seed).ok() })
    }

    /// A specimen of which only the seed is known: a rare branch comes as often as any other.
    ///
    /// # Errors
    ///
    /// [`NoWay`] if no way was found at all.
    pub fn by_seed(edition: &Arc<Edition>, seed: u64) -> Result<Self, NoWay> {
        let way = ways::by_seed(edition, seed)?;
        Ok(Self { seed, way, after: ways::clean(edition, seed).ok() })
    }
}
