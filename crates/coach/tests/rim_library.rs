//! Methods are found by the names people type.

use std::fs;

use coach::rim::library::{self, NotFound, SHIPPED};

#[test]
fn every_shipped_procedure_is_found_by_its_name_and_its_id_is_its_name() {
    for shipped in SHIPPED {
        let found = library::find(shipped.id, false).unwrap();
        assert_eq!(found.id(), shipped.id);
        assert_eq!(found.text, shipped.text);
        assert_eq!(shipped.file, format!("{}.toml", shipped.id));
    }
}

#[test]
fn what_was_checked_when_the_program_was_built_is_what_checking_the_text_gives() {
    for shipped in SHIPPED {
        let checked = procedure::check(shipped.file, shipped.text);
        let procedure = checked.procedure.unwrap();
        assert!(shipped.systems().eq(procedure.editions.iter().map(|edition| edition.system)));
        for edition in &procedure.editions {
            assert_eq!(shipped.edition(edition.system).as_ref(), Some(edition));
        }
        assert_eq!(shipped.sha256, library::sha256(shipped.text));
    }
}

#[test]
fn the_beginning_of_a_name_is_enough_if_it_is_the_only_one() {
    assert_eq!(library::find("air-vol", false).unwrap().id(), "air-volumetric");
    assert!(matches!(library::find("", false), Err(NotFound::Unknown { .. })), "nothing is no beginning");
}

#[test]
fn a_misspelt_name_is_answered_with_the_nearest() {
    for (written, hint) in [
        ("air-volumetrik", "Did you mean “air-volumetric”?"),
        ("air-voulmetric", "Did you mean “air-volumetric”?"),
        ("beam", "“pourside methods” lists them; a path to a .toml file does as well."),
    ] {
        assert_eq!(library::find(written, false).unwrap_err().hint(), hint, "{written}");
    }
    let known = ["slump", "air-pressure", "air-volumetric"];
    assert_eq!(procedure::nearest::nearest("slupm", known.into_iter()), Some("slump"));
    assert_eq!(procedure::nearest::nearest("xyz", known.into_iter()), None);
}

#[test]
fn a_laboratory_s_own_file_is_found_by_its_path_and_its_faults_are_shown() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("own.toml");
    fs::write(&own, SHIPPED[0].text).unwrap();
    let path = own.display().to_string();
    assert_eq!(library::find(&path, false).unwrap().id(), SHIPPED[0].id);
    fs::write(&own, SHIPPED[0].text.replacen("[procedure]", "[procedures]", 1)).unwrap();
    let why = library::find(&path, false).unwrap_err();
    assert!(why.to_string().ends_with("cannot be used as a procedure"), "{why}");
    assert!(why.hint().contains("procedures"), "{}", why.hint());
    let missing = library::find("nowhere/own.toml", false).unwrap_err();
    assert!(matches!(missing, NotFound::Read { .. }));
}
