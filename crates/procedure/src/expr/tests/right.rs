//! What right expressions mean and give.

use super::*;
use crate::expr::{DEEPEST, Op, Type, Use};

#[test]
fn everything_the_volumetric_test_asks_is_written_as_a_person_would() {
    let percent = Type::Number(unit("%"));
    for (src, kind) in [
        ("level + sum(cups) * cup_worth", percent),
        ("if alcohol >= 2.5 pt then alcohol_correction(alcohol) else 0 %", percent),
        ("level - alcohol_correction(alcohol) + 1 %", percent),
        ("abs(cup - 1.00 %) > 0.04 %", Type::Truth),
        ("heard == no", Type::Truth),
        ("no != heard", Type::Truth),
        ("pieces == wet-sieved", Type::Truth),
        ("pieces == was(pieces)", Type::Truth),
        ("heard", Type::Choice(ReadingId(5))),
        ("round > 1", Type::Truth),
        ("attempt > 1 and round == 1", Type::Truth),
        ("sqrt(level / foam)", Type::Number(Unit::NONE)),
        ("sqrt(2) * 1 %", percent),
        ("alcohol > was(alcohol)", Type::Truth),
        ("known(technician) and not known(foam)", Type::Truth),
        ("settled < 0 %", Type::Truth),
        ("settle_every", Type::Number(unit("s"))),
        ("settle_every == 2 min", Type::Truth),
        ("min(level, foam) <= max(level, 2 %)", Type::Truth),
        ("level / foam", Type::Number(Unit::NONE)),
        ("10 % / cup", Type::Number(Unit::NONE)),
        ("62.4 lb/ft³ * 0.075 ft³", Type::Number(unit("lb"))),
        ("62.4 lb/ft3 / 2", Type::Number(unit("lb/ft³"))),
        ("100 * 148 / 2458", Type::Number(Unit::NONE)),
        ("70 °F < 21 °F", Type::Truth),
        ("4 fl oz + 1 fl oz", Type::Number(unit("fl oz"))),
        ("25 strokes", Type::Number(unit("stroke"))),
        ("-level * 2", percent),
        ("((level))", percent),
        ("true or false", Type::Truth),
        ("level\n  + foam", percent),
        ("if heard == yes then 1 % else if round > 2 then 2 % else 3 %", percent),
    ] {
        assert_eq!(compiled(src).kind, kind, "{src}");
    }
}

#[test]
fn a_unit_belongs_to_the_number_it_stands_behind() {
    for (src, value, symbol) in [
        ("2", "2", ""),
        ("0.25%", "0.25", "%"),
        ("2.5 pt", "2.5", "pt"),
        ("1 %/s", "1", "%/s"),
        ("45 s", "45", "s"),
        ("2 min", "120", "s"),
        ("0.5 h", "1800", "s"),
        ("128 fl oz", "128", "fl oz"),
        ("2350 kg/m³", "2350", "kg/m³"),
    ] {
        let compiled = compiled(src);
        assert_eq!(compiled.expr, Expr::Number(exact(value)), "{src}");
        assert_eq!(compiled.kind, Type::Number(unit(symbol)), "{src}");
    }
}

#[test]
fn closer_operations_come_first_and_equal_ones_from_the_left() {
    let nothing = Known::default();
    for (src, result) in [
        ("2 + 3 * 4", number("14")),
        ("(2 + 3) * 4", number("20")),
        ("10 - 3 - 2", number("5")),
        ("24 / 4 / 2", number("3")),
        ("24 / (4 / 2)", number("12")),
        ("-2 * -3", number("6")),
        ("2 - -3", number("5")),
        ("1 + if false then 2 else 3 + 4", number("8")),
        ("true or false and false", Datum::Truth(true)),
        ("not false and false", Datum::Truth(false)),
        ("not 1 > 2", Datum::Truth(true)),
        ("1 < 2 and 2 < 3", Datum::Truth(true)),
        ("(1 < 2) == (2 < 3)", Datum::Truth(true)),
        ("abs(2 - 5)", number("3")),
        ("min(2, 3) + max(2, 3)", number("5")),
    ] {
        assert_eq!(given(src, &nothing), result, "{src}");
    }
}

#[test]
fn nothing_is_rounded_on_the_way() {
    let nothing = Known::default();
    for (src, result) in [
        ("(1 / 3) * 4.5", number("1.5")),
        ("1 / 3 + 1 / 3 + 1 / 3", number("1")),
        ("0.1 + 0.2 == 0.3", Datum::Truth(true)),
        ("4.2 - 4.1 <= 0.1", Datum::Truth(true)),
        ("abs(0.30 % - 0.55 %) <= 0.25 %", Datum::Truth(true)),
        ("abs(0.30 % - 0.5501 %) <= 0.25 %", Datum::Truth(false)),
        ("9999999999999999999999999999 + 1 - 9999999999999999999999999999", number("1")),
        ("0.000000000000000000000000001 * 3 / 3 == 0.000000000000000000000000001", Datum::Truth(true)),
    ] {
        assert_eq!(given(src, &nothing), result, "{src}");
    }
}

#[test]
fn unknown_is_neither_true_nor_false() {
    use Datum::{Truth, Unknown};
    let (yes, no) = (Truth(true), Truth(false));
    // `foam` was not read: whatever compares with it is unknown.
    let words = [("true", &yes), ("false", &no), ("foam > 1 %", &Unknown)];
    let and = [[&yes, &no, &Unknown], [&no, &no, &no], [&Unknown, &no, &Unknown]];
    let or = [[&yes, &yes, &yes], [&yes, &no, &Unknown], [&yes, &Unknown, &Unknown]];
    let not = [&no, &yes, &Unknown];
    let nothing = Known::default();
    for (i, (a, _)) in words.iter().enumerate() {
        assert_eq!(given(&format!("not ({a})"), &nothing), *not[i], "not {a}");
        for (j, (b, _)) in words.iter().enumerate() {
            assert_eq!(given(&format!("{a} and {b}"), &nothing), *and[i][j], "{a} and {b}");
            assert_eq!(given(&format!("{a} or {b}"), &nothing), *or[i][j], "{a} or {b}");
        }
    }
}

#[test]
fn what_rests_on_a_reading_nobody_took_is_unknown() {
    let facts = Known::default().number(0, "5.25");
    for src in [
        "foam",
        "level + foam",
        "foam == foam",
        "abs(-foam)",
        "max(level, foam)",
        "0 * foam",
        "if foam > 2 % then 1 else 1",
        "heard == no",
        "was(level)",
        "alcohol_correction(alcohol)",
        "level / (level - level)",
    ] {
        assert_eq!(given(src, &facts), Datum::Unknown, "{src}");
    }
    for (src, result) in [
        ("known(level)", Datum::Truth(true)),
        ("known(foam)", Datum::Truth(false)),
        ("sum(cups)", number("0")),
        ("if level > 9 % then foam else level", number("5.25")),
    ] {
        assert_eq!(given(src, &facts), result, "{src}");
    }
    assert!(!given("foam > 2 %", &facts).holds());
}

#[test]
fn a_run_answers_for_its_readings_rounds_attempts_and_tables() {
    let mut facts = Known::default().number(0, "5.25").number(2, "3.5").answer(5, 1).answer(6, 1);
    facts.was.insert(2, Datum::Number(exact("2.5")));
    facts.was.insert(6, Datum::Choice(0));
    facts.sums.insert(3, exact("2"));
    facts.round = 2;
    for (src, result) in [
        ("level + sum(cups) * cup_worth", number("7.25")),
        ("alcohol_correction(alcohol)", number("0.45")),
        ("alcohol_correction(1.9 pt)", Datum::Unknown),
        ("alcohol_correction(alcohol + 2 pt)", Datum::Unknown),
        ("alcohol > was(alcohol)", Datum::Truth(true)),
        ("heard == no", Datum::Truth(true)),
        ("yes == heard", Datum::Truth(false)),
        ("heard != yes", Datum::Truth(true)),
        ("pieces == wet-sieved", Datum::Truth(true)),
        ("pieces != was(pieces)", Datum::Truth(true)),
        ("round > 1", Datum::Truth(true)),
    ] {
        assert_eq!(given(src, &facts), result, "{src}");
    }
}

#[test]
fn a_thousand_values_each_the_double_of_the_one_before_are_worked_out_at_once() {
    let double = |id| Expr::Two(Op::Add, Box::new(Expr::Value(id)), Box::new(Expr::Value(id)));
    let mut values = vec![Expr::Number(exact("1"))];
    values.extend((0..1000).map(|id| double(ValueId(id))));
    let facts = Known { values, ..Known::default() };
    let Datum::Number(last) = Expr::Value(ValueId(1000)).eval(&facts) else { panic!("known from the first") };
    let halved = (0..1000).fold(last, |value, _| value.checked_div(&exact("2")).unwrap());
    assert_eq!(halved, exact("1"));
}

#[test]
fn a_value_that_used_itself_would_be_unknown_and_not_go_round_for_ever() {
    let facts = Known { values: vec![Expr::Value(ValueId(1)), Expr::Value(ValueId(0))], ..Known::default() };
    assert_eq!(Expr::Value(ValueId(1)).eval(&facts), Datum::Unknown);
}

#[test]
fn the_loader_learns_what_an_expression_asks_of_a_run() {
    let uses = compiled(
        "if known(foam) and round > 1 then level - was(level) + sum(cups) * cup_worth else \
         settled + level + alcohol_correction(alcohol)",
    )
    .uses;
    let [level, foam, alcohol, cups] = [0, 1, 2, 3].map(ReadingId);
    assert_eq!(
        uses,
        [
            Use::Known(foam),
            Use::Round,
            Use::Reading(level),
            Use::Was(level),
            Use::Sum(cups),
            Use::Value(ValueId(0)),
            Use::Reading(alcohol),
            Use::Table(TableId(0), Expr::Reading(alcohol)),
        ]
    );
}

#[test]
fn an_expression_may_be_as_deep_as_the_limit_and_no_deeper() {
    let brackets = |deep: usize| format!("{}1{}", "(".repeat(deep), ")".repeat(deep));
    let sum = |n_terms: usize| vec!["1"; n_terms].join(" + ");
    let refused =
        |src: &str| compile(src, &Meter, Want::Any).unwrap_err().iter().map(|fault| fault.code).collect::<Vec<_>>();
    compiled(&brackets(DEEPEST - 1));
    compiled(&sum(DEEPEST));
    for src in [
        brackets(DEEPEST),
        brackets(900),
        sum(DEEPEST + 1),
        sum(480),
        "(".repeat(2000),
        "-".repeat(2000),
        "not ".repeat(500),
        "abs(".repeat(500),
        "if ".repeat(600),
    ] {
        assert_eq!(refused(&src), ["too-deep"], "{src}");
    }
    assert_eq!(refused(&"1".repeat(2001)), ["too-long"]);
    assert_eq!(refused(&"9".repeat(29)), ["bad-number"]);
}

#[test]
fn a_root_is_exact_where_it_can_be_and_unknown_below_zero() {
    let facts = Known { attempt: 3, ..Known::default() };
    for (src, value) in [
        ("sqrt(6.25)", number("2.5")),
        ("sqrt(4 / 9) * 3", number("2")),
        ("sqrt(0)", number("0")),
        ("sqrt(2)", number("1.414213562373095048801688724209")),
        ("sqrt(1 - 2)", Datum::Unknown),
        ("sqrt(level / 1 %)", Datum::Unknown),
        ("attempt * 2", number("6")),
    ] {
        assert_eq!(given(src, &facts), value, "{src}");
    }
}
