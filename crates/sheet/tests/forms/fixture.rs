//! Invented sheets. No concrete was tested, nobody of these names exists, and no value was measured.
//!
//! The numbers of [`harrow_bend`] by hand:
//!
//! ```text
//! density         36.12 lb / 0.2494 ft³             = 144.8276 lb/ft³, to the nearest 0.1: 144.8
//! yield           39205 lb / (27 × 144.8276 lb/ft³) = 10.0260 yd³, to the nearest 0.01: 10.03
//! relative yield  10.0260 / 10.00                   = 1.0026, to the nearest 0.01: 1.00
//! gravimetric air 100 × (154.1 − 144.8276) / 154.1  = 6.0171 %, to the nearest 0.1: 6.0
//! air             6.25 − 0.3 + 0                    = 5.95 %, to the nearest 0.25: 6.00
//! ```

use sheet::*;

fn s(text: &str) -> String {
    text.to_owned()
}

fn m(value: &str, unit: &str) -> Measured {
    Measured::new(value, unit)
}

/// A moment of the day of the sample.
fn at(clock: &str) -> String {
    format!("2026-05-14T{clock}-05:00")
}

fn window(test: &str, name: &str, (from, to): (&str, &str), allowed: &str, took: &str, clocks: (&str, &str)) -> Window {
    Window {
        test: s(test),
        name: s(name),
        from: s(from),
        to: s(to),
        allowed: m(allowed, "s"),
        took: Some(m(took, "s")),
        verdict: Kept::Kept,
        started: at(clocks.0),
        ended: Some(at(clocks.1)),
    }
}

fn row(name: &str, blocks: &[(i64, i64, BlockKind)], marks: &[(i64, &str)], ends: &[(i64, &str, bool)]) -> TimelineRow {
    TimelineRow {
        name: s(name),
        blocks: blocks.iter().map(|(from_s, to_s, kind)| Block { from_s: *from_s, to_s: *to_s, kind: *kind }).collect(),
        marks: marks.iter().map(|(at_s, words)| Mark { at_s: *at_s, words: s(words) }).collect(),
        windows: ends
            .iter()
            .map(|(closes_at_s, name, kept)| WindowEnd { closes_at_s: *closes_at_s, name: s(name), kept: Some(*kept) })
            .collect(),
    }
}

fn apparatus(kind: &str, id: &str, due: &str, standing: Standing, words: &str) -> Apparatus {
    Apparatus { kind: s(kind), id: s(id), due: Some(s(due)), standing, words: s(words) }
}

/// The whole day of one sample: six tests, one slump discarded, air begun late, one correction, six cylinders.
pub fn harrow_bend() -> Sheet {
    Sheet {
        head: Head {
            title: s("Fresh concrete: one sample"),
            project: s("Harrow Bend footbridge"),
            location: s("pier 2, lift 3, north face"),
            mixture: s("HB-40A, 4000 psi at 28 days, air-entrained, 3/4 in aggregate"),
            sample: s("HB-P2-07"),
            purpose: Purpose::Acceptance,
            truck: s("12"),
            ticket: s("48-1107"),
            technician: Technician {
                name: s("R. Okafor-Lind"),
                certificate: s("Field testing, no. 20418"),
                expires: Some(s("2027-03-31")),
                standing: Standing::InDate,
                words: s("in date until 31 March 2027"),
            },
            date: s("2026-05-14"),
            offset: s("-05:00"),
            system: System::InchPound,
            simulated: Some(s("Simulated time, set by a script: a rehearsal. No concrete was tested.")),
            tool: s("pourside"),
            version: s("0.1.0"),
            notices: vec![
                s(
                    "The standard and the project’s specification come first; where this sheet and they differ, they decide.",
                ),
                s(
                    "Figures marked as from memory in the procedure files are to be confirmed against the current edition.",
                ),
            ],
        },
        results: results(),
        windows: windows(),
        findings: vec![
            Finding {
                at: at("07:42:31"),
                test: s("Air"),
                words: s("Begun 1 min 21 s late: 6 min 21 s after the last portion, 5 min allowed."),
            },
            Finding {
                at: at("07:57:44"),
                test: s("Cylinders"),
                words: s("Cylinder HB-P2-07-5: 24 strokes in the second layer, 25 asked; one more was given."),
            },
        ],
        discarded: vec![Discarded {
            at: at("07:40:02"),
            test: s("Slump"),
            attempt: 1,
            why: s("The concrete fell away from one side: sheared"),
            again: s("Begun again with a fresh portion of the same sample at 07:40:31"),
        }],
        corrections: vec![Correction {
            at: at("08:11:20"),
            test: s("Density"),
            reading: s("Mass of the full measure"),
            from: s("43.68 lb"),
            to: s("43.86 lb"),
            why: s("two digits were swapped on entry; the scale’s ticket says 43.86"),
        }],
        overruled: vec![],
        apparatus: vec![
            apparatus("Thermometer", "T-3", "2026-09-02", Standing::InDate, "in date until 2 September 2026"),
            apparatus("Slump cone", "C-11", "2027-01-15", Standing::InDate, "in date until 15 January 2027"),
            apparatus("Measure", "M-25", "2026-11-30", Standing::InDate, "in date until 30 November 2026"),
            apparatus("Scale", "S-2", "2026-05-10", Standing::Overdue, "overdue since 10 May 2026"),
            apparatus("Volumetric meter", "V-7", "2026-05-20", Standing::DueSoon, "in date, due in 6 days"),
        ],
        delivery: Delivery {
            facts: vec![
                Fact { name: s("Batched"), words: s("06:58, plant 2, 10.00 yd³") },
                Fact { name: s("Arrived"), words: s("07:24") },
            ],
            water_added: Some(m("4.0", "gal")),
            judged: vec![
                Judged {
                    name: s("Batching to end of discharge"),
                    value: m("2880", "s"),
                    limit: Some(s("90 min")),
                    limit_source: s("ticket"),
                    verdict: Verdict::Within,
                },
                Judged {
                    name: s("Drum revolutions"),
                    value: m("118", ""),
                    limit: Some(s("not more than 300")),
                    limit_source: s("specification 3.4"),
                    verdict: Verdict::Within,
                },
            ],
        },
        weather: Weather {
            air: Some(m("64", "°F")),
            humidity: Some(m("48", "%")),
            wind: Some(m("9", "mi/h")),
            concrete: Some(m("71", "°F")),
            evaporation: Some(m("0.09", "lb/ft²/h")),
            caution: s("Nearing 0.1 lb/ft²/h: have fogging or sheeting at hand."),
        },
        specimens: vec![SpecimenSet {
            labels: labels(1..=6),
            size: s("4 × 8 in cylinders"),
            moulded: at("08:00:12"),
            curing: Curing { range: s("60 °F to 80 °F"), until: Some(s("2026-05-16T08:00:12-05:00")) },
            transport_from: Some(s("2026-05-14T21:00:00-05:00")),
        }],
        appointments: vec![
            Appointment {
                id: s("strip"),
                title: s("Strip the moulds, final curing"),
                at: s("2026-05-16T08:00:12-05:00"),
                give_or_take: None,
                count: Some(6),
                labels: labels(1..=6),
            },
            Appointment {
                id: s("break-7"),
                title: s("Break 2 cylinders at 7 days"),
                at: s("2026-05-21T08:00:12-05:00"),
                give_or_take: Some(m("6", "h")),
                count: Some(2),
                labels: labels(1..=2),
            },
            Appointment {
                id: s("break-28"),
                title: s("Break 3 cylinders at 28 days"),
                at: s("2026-06-11T08:00:12-05:00"),
                give_or_take: Some(m("20", "h")),
                count: Some(3),
                labels: labels(3..=5),
            },
            Appointment {
                id: s("break-56"),
                title: s("Break the spare at 56 days"),
                at: s("2026-07-09T08:00:12-05:00"),
                give_or_take: Some(m("40", "h")),
                count: Some(1),
                labels: labels(6..=6),
            },
        ],
        timeline: timeline(),
        record: Record {
            runs: [
                ("sampling", "9f2c"),
                ("temperature", "41d7"),
                ("slump", "c0aa"),
                ("density", "7be3"),
                ("air", "e815"),
                ("cylinders", "2d96"),
            ]
            .map(|(name, start)| RunRecord { name: format!("2026-05-14-0731-{name}"), checksum: start.repeat(16) })
            .to_vec(),
            kept: s(
                "One record for each run, append-only; each line’s checksum chains to the line before. The last checksums:",
            ),
        },
    }
}

fn labels(range: std::ops::RangeInclusive<u32>) -> Vec<String> {
    range.map(|n| format!("HB-P2-07-{n}")).collect()
}

fn results() -> Vec<TestResult> {
    let density = TestResult {
        run: s("2026-05-14-0731-density"),
        test: s("Density, yield and air by mass"),
        basis: s("ASTM C138/C138M"),
        attempts: 1,
        ..TestResult::default()
    };
    vec![
        TestResult {
            run: s("2026-05-14-0731-temperature"),
            test: s("Temperature of fresh concrete"),
            basis: s("ASTM C1064/C1064M"),
            name: s("Temperature"),
            value: Some(m("71", "°F")),
            rounding: s("read to the nearest 1 °F"),
            limit: Some(s("50 °F to 90 °F")),
            limit_source: s("specification 3.2"),
            verdict: Verdict::Within,
            attempts: 1,
            ..TestResult::default()
        },
        TestResult {
            run: s("2026-05-14-0731-slump"),
            test: s("Slump"),
            basis: s("ASTM C143/C143M"),
            name: s("Slump"),
            value: Some(m("4.25", "in")),
            rounding: s("read to the nearest 1/4 in"),
            limit: Some(s("4 in ± 1 in")),
            limit_source: s("specification 3.1"),
            verdict: Verdict::Within,
            attempts: 2,
            ..TestResult::default()
        },
        TestResult {
            name: s("Density"),
            value: Some(m("144.8", "lb/ft³")),
            exact: s("≈ 144.8276 lb/ft³"),
            rounding: s("to the nearest 0.1"),
            verdict: Verdict::NotJudged,
            terms: vec![
                Term { name: s("net mass"), value: m("36.12", "lb") },
                Term { name: s("measure"), value: m("0.2494", "ft³") },
            ],
            ..density.clone()
        },
        TestResult {
            name: s("Yield"),
            value: Some(m("10.03", "yd³")),
            exact: s("≈ 10.0260 yd³"),
            rounding: s("to the nearest 0.01"),
            verdict: Verdict::NotJudged,
            ..density.clone()
        },
        TestResult {
            name: s("Relative yield"),
            value: Some(m("1.00", "")),
            exact: s("≈ 1.0026"),
            rounding: s("to the nearest 0.01"),
            limit: Some(s("0.99 to 1.02")),
            limit_source: s("specification 3.6"),
            verdict: Verdict::Within,
            ..density.clone()
        },
        TestResult {
            name: s("Air, by mass"),
            value: Some(m("6.0", "%")),
            exact: s("≈ 6.0171 %"),
            rounding: s("to the nearest 0.1"),
            verdict: Verdict::NotJudged,
            ..density
        },
        TestResult {
            run: s("2026-05-14-0731-air"),
            test: s("Air content, volumetric method"),
            basis: s("ASTM C173/C173M"),
            name: s("Air content"),
            value: Some(m("6.00", "%")),
            exact: s("5.95 %"),
            rounding: s("to the nearest 0.25, a half to the even multiple"),
            limit: Some(s("6.5 % ± 1.5 %")),
            limit_source: s("specification 3.3"),
            verdict: Verdict::Within,
            terms: vec![
                Term { name: s("level"), value: m("6.25", "%") },
                Term { name: s("alcohol"), value: m("-0.3", "%") },
                Term { name: s("cups"), value: m("0", "%") },
            ],
            attempts: 1,
            ..TestResult::default()
        },
    ]
}

fn windows() -> Vec<Window> {
    let begin = "last portion";
    vec![
        window(
            "sampling",
            "Take the sample",
            ("first portion", "last portion"),
            "900",
            "260",
            ("07:31:50", "07:36:10"),
        ),
        window("temperature", "Begin temperature", (begin, "probe in"), "300", "55", ("07:36:10", "07:37:05")),
        window("slump", "Begin slump", (begin, "first scoop"), "300", "112", ("07:36:10", "07:38:02")),
        window("slump", "Slump, attempt 2", ("first scoop", "mould off"), "150", "104", ("07:40:31", "07:42:15")),
        window("slump", "Slump, the lift", ("mould starts to rise", "mould off"), "7", "4.7", ("07:42:10", "07:42:15")),
        Window {
            verdict: Kept::Late { by: m("81", "s") },
            ..window("air", "Begin air", (begin, "first scoop"), "300", "381", ("07:36:10", "07:42:31"))
        },
        window(
            "cylinders",
            "Begin moulding",
            ("sample remixed", "first scoop"),
            "900",
            "811",
            ("07:37:50", "07:51:21"),
        ),
        window(
            "cylinders",
            "Move the cylinders",
            ("last one finished", "all in the box"),
            "900",
            "335",
            ("08:00:12", "08:05:47"),
        ),
        Window {
            took: None,
            ended: None,
            verdict: Kept::Open,
            ..window(
                "cylinders",
                "Initial curing",
                ("last one finished", "moulds off"),
                "172800",
                "0",
                ("08:00:12", "08:00:12"),
            )
        },
    ]
}

fn timeline() -> Timeline {
    use BlockKind::{Attended, Discarded, Waiting};
    Timeline {
        zero: Some(at("07:36:10")),
        first_portion_s: Some(-260),
        rows: [
            row(
                "Sampling",
                &[(-260, 0, Attended), (30, 52, Attended)],
                &[(52, "remixed, covered")],
                &[(640, "15 min from first portion", true)],
            ),
            row(
                "Temperature",
                &[(55, 75, Attended), (75, 208, Waiting), (208, 226, Attended)],
                &[(226, "read, 71 °F")],
                &[(300, "begin", true)],
            ),
            row(
                "Slump",
                &[(112, 207, Discarded), (261, 372, Attended)],
                &[(232, "sheared"), (365, "mould off")],
                &[(411, "2:30 in all", true)],
            ),
            row(
                "Air content, volumetric",
                &[
                    (381, 660, Attended),
                    (660, 780, Waiting),
                    (780, 850, Attended),
                    (850, 905, Waiting),
                    (1560, 1660, Attended),
                ],
                &[(900, "level settles")],
                &[(300, "begin", false)],
            ),
            row("Density", &[(672, 778, Attended), (790, 848, Attended)], &[(820, "weighed")], &[]),
            row(
                "Cylinders",
                &[(911, 1442, Attended), (1680, 1777, Attended)],
                &[(1442, "6 moulded"), (1777, "in the curing box")],
                &[(1000, "begin", true), (174_242, "initial curing", true)],
            ),
        ]
        .map(|mut row| {
            // It has not ended when the sheet is made.
            row.windows.iter_mut().filter(|end| end.name == "initial curing").for_each(|end| end.kept = None);
            row
        })
        .to_vec(),
    }
}

/// The same day told in SI units, on time: A4 paper, nothing late, nothing wrong.
pub fn harrow_bend_si() -> Sheet {
    let mut sheet = harrow_bend();
    sheet.head.system = System::Si;
    sheet.head.sample = s("HB-P2-08");
    sheet.head.technician.name = s("M. Quillfeather");
    sheet.head.mixture = s("HB-40A, 28 MPa at 28 days, air-entrained, 19 mm aggregate");
    sheet.head.simulated = None;
    for (result, value, limit) in [
        (0, m("21.5", "°C"), Some("10 °C to 32 °C")),
        (1, m("110", "mm"), Some("100 mm ± 25 mm")),
        (2, m("2320", "kg/m³"), None),
        (3, m("7.67", "m³"), None),
        (4, m("1.00", ""), Some("0.99 to 1.02")),
        (5, m("6.0", "%"), None),
        (6, m("6.00", "%"), Some("6.5 % ± 1.5 %")),
    ] {
        let result: &mut TestResult = &mut sheet.results[result];
        result.value = Some(value);
        result.limit = limit.map(s);
        result.exact.clear();
        result.terms.clear();
        result.rounding = s("as read");
    }
    sheet.windows.retain(|window| window.verdict == Kept::Kept);
    sheet.findings.clear();
    sheet.discarded.clear();
    sheet.corrections.clear();
    sheet.apparatus.retain(|piece| piece.standing != Standing::Overdue);
    sheet.timeline.rows[2].blocks.remove(0);
    sheet.timeline.rows[3].windows.clear();
    sheet.weather = Weather {
        air: Some(m("18", "°C")),
        humidity: Some(m("48", "%")),
        wind: Some(m("14", "km/h")),
        concrete: Some(m("21.5", "°C")),
        evaporation: Some(m("0.4", "kg/m²/h")),
        caution: String::new(),
    };
    sheet
}

/// A preliminary sample with what can go wrong: values outside, a void test, a refusal overruled, an expired certificate.
pub fn trouble() -> Sheet {
    let mut sheet = harrow_bend();
    sheet.head.purpose = Purpose::Preliminary;
    sheet.head.technician.standing = Standing::Overdue;
    sheet.head.technician.words = s("expired on 31 March 2026");
    sheet.results[0].verdict = Verdict::NotAcceptance;
    sheet.results[1].verdict = Verdict::Above;
    sheet.results[1].value = Some(m("6.75", "in"));
    sheet.results[6].status = Status::Void;
    sheet.results[6].value = None;
    sheet.results[6].note = s("packed concrete was found in the bowl");
    sheet.results.push(TestResult {
        test: s("Pressure method"),
        basis: s("ASTM C231/C231M"),
        name: s("Air content"),
        status: Status::NotDone,
        ..TestResult::default()
    });
    sheet.delivery.judged[0].verdict = Verdict::Above;
    sheet.delivery.judged[0].value = m("6120", "s");
    sheet.overruled.push(Overruled {
        at: at("07:45:10"),
        test: s("Air"),
        refusal: s("17 s of rolling left"),
        why: s("the strap tore and the meter could not be held"),
    });
    sheet
}

/// More of everything than anybody will ever write, in letters of many tongues.
pub fn extreme() -> Sheet {
    let mut sheet = harrow_bend();
    let long = "an exceedingly long name that goes on well past the end of any column it could be set in ".repeat(3);
    sheet.head.project = format!("{long}<script>alert(1)</script>");
    sheet.head.location = s("橋脚二号、北側 · Опора № 2 · الدعامة ٢");
    sheet.head.mixture = s("Łódź–Ağaç–Đorđe ≤ 0.45 w/c, CO₂ ⅜ \"quoted\" & 'so' on");
    sheet.head.sample = s("S/7; first, of\\many 橋");
    sheet.head.technician.name = "Wolfeschlegelsteinhausenbergerdorff".repeat(4);
    sheet.findings = (0..20)
        .map(|n| Finding {
            at: at(&format!("07:{:02}:00", 36 + n)),
            test: s("Cylinders"),
            words: format!("Finding {n}: {long}"),
        })
        .collect();
    sheet.corrections.push(Correction { why: s("=cmd()\n\u{1b}[31m"), at: s("later"), ..Correction::default() });
    sheet.results.extend(results().into_iter().cycle().take(30).map(|result| TestResult {
        limit: Some(s("≤ 0.45 and never, under any circumstance, more than what the engineer has approved in writing")),
        verdict: Verdict::Above,
        ..result
    }));
    sheet
        .appointments
        .push(Appointment { title: s("破壊試験 28 日, вторник; \"x\""), ..sheet.appointments[1].clone() });
    sheet.timeline.rows.extend(timeline().rows);
    sheet.timeline.rows[0].name = s("A name of a test so long that it has to stand on several lines beside its bars");
    sheet.timeline.rows[1].marks.extend((0..12).map(|n| Mark { at_s: 200 + n, words: format!("mark number {n}") }));
    sheet.specimens[0].labels = labels(1..=60);
    sheet
}

/// Every sheet with its name.
pub fn all() -> Vec<(&'static str, Sheet)> {
    vec![
        ("harrow-bend", harrow_bend()),
        ("harrow-bend-si", harrow_bend_si()),
        ("trouble", trouble()),
        ("extreme", extreme()),
        ("empty", Sheet::default()),
    ]
}
