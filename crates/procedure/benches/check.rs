//! Reading and checking a procedure file, from text to a procedure ready to run.

fn main() {
    divan::main();
}

const AIR: &str = include_str!("../../../procedures/air-volumetric.toml");

/// The shipped volumetric air test, both unit systems.
#[divan::bench]
fn read_and_check_air_volumetric() -> procedure::Checked {
    procedure::check("air-volumetric.toml", divan::black_box(AIR))
}

/// The same with one fault in it, reported as text.
#[divan::bench]
fn explain_a_fault(bencher: divan::Bencher) {
    let faulty = AIR.replacen("unit       = \"%\"", "unit       = \"percent\"", 1);
    bencher.bench_local(|| {
        let checked = procedure::check("air-volumetric.toml", divan::black_box(&faulty));
        procedure::diagnose::render("air-volumetric.toml", &faulty, &checked.diagnostics, false)
    });
}
