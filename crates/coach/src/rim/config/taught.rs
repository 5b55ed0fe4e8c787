//! The file of taught keys, beside the settings file.
//!
//! Here: reading it, writing it whole, removing it. Not here: teaching (`screen::teach`), and what a role does.
//!
//! **Invariant:** what was written is read back as the same keys, and a line that cannot be read costs only its own key.

use std::fmt::Write as _;
use std::io;
use std::path::Path;

use toml::de::DeValue;

use super::read::{in_lines, mended, not_written, quoted_back, table_of};
use super::table::list;
use super::write_whole;
use crate::rim::store::Trouble;
use crate::screen::hands::keymap::{Keymap, Role, key_named, name_of};

/// Reads taught keys; what is wrong is said and left out.
pub fn read_keys(text: &str) -> (Keymap, Vec<String>) {
    let mut keymap = Keymap::default();
    let (mended, mut faults) = mended(text);
    let table = table_of(&mended);
    for role in Role::ALL {
        let found = table.get_ref().iter().find(|(name, _)| &**name.get_ref() == role.id());
        let Some((name, value)) = found else { continue };
        let DeValue::Array(names) = value.get_ref() else {
            let what = format!("{} must be a list of names of keys; it counts as not written.", role.id());
            faults.push((name.span(), what));
            continue;
        };
        for named in names.iter() {
            let is = quoted_back(text.get(named.span()).unwrap_or(""));
            let Some(key) = named.get_ref().as_str().and_then(key_named) else {
                faults.push((named.span(), format!("{is} is no name of a key; it counts as not written.")));
                continue;
            };
            match keymap.taught_role(&key) {
                Some(before) => {
                    let what = format!("{is} stands for {} already; here it counts as not written.", before.id());
                    faults.push((named.span(), what));
                }
                None => keymap.teach(&key, role),
            }
        }
    }
    for (name, _) in table.get_ref().iter().filter(|(name, _)| Role::of_id(name.get_ref()).is_none()) {
        let near = not_written(name.get_ref(), Role::ALL.iter().map(|role| role.id()));
        let what = format!("there is no “{}”{near}", quoted_back(name.get_ref()));
        faults.push((name.span(), what));
    }
    (keymap, in_lines(text, faults))
}

/// The text of the file.
pub fn show_keys(keymap: &Keymap) -> String {
    let mut out = String::from(
        "# Written by “pourside keys”: which key of a pedal, a clicker or a switch stands for what.\n\
         # It is written anew each time; “pourside keys --forget” removes it.\n\n",
    );
    for role in Role::ALL {
        let names: Vec<String> = keymap.taught_for(role).map(name_of).collect();
        if !names.is_empty() {
            let _ = writeln!(out, "{} = {}", role.id(), list(&names));
        }
    }
    out
}

/// Writes the file, whole or not at all.
///
/// # Errors
///
/// [`Trouble`] if it cannot be written.
pub fn save(path: &Path, keymap: &Keymap) -> Result<(), Trouble> {
    write_whole(path, &show_keys(keymap))
}

/// Removes the file; false if there was none.
///
/// # Errors
///
/// [`Trouble`] if it cannot be removed.
pub fn forget(path: &Path) -> Result<bool, Trouble> {
    match std::fs::remove_file(path) {
        Ok(()) => Ok(true),
        Err(why) if why.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(why) => Err(Trouble {
            what: format!("cannot remove {}: {why}", path.display()),
            hint: "Make its folder writable; until then those keys stay taught.".to_owned(),
        }),
    }
}
