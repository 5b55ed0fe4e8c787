//! What wrong expressions are answered with, word for word.

use super::*;

/// Compares what each expression is answered with to what is written: cases with an empty line between them, the
/// expression as their first line, the place underlined.
fn answered(want: Want, pages: &str) {
    let pages: Vec<&str> = pages.lines().map(|line| line.strip_prefix("        ").unwrap_or(line)).collect();
    for page in pages.join("\n").trim_end().split("\n\n") {
        let page = page.trim_start_matches('\n');
        let src = page.lines().next().unwrap();
        let faults = compile(src, &Meter, want).expect_err(src);
        assert_eq!(explained(src, &faults).trim_end(), page);
    }
}

#[test]
fn where_nothing_is_written_something_is_asked_for() {
    for src in ["", " ", "\n\t"] {
        let faults = compile(src, &Meter, Want::Any).unwrap_err();
        assert_eq!((faults.len(), faults[0].code, faults[0].at.clone()), (1, "empty", 0..src.len()));
        assert_eq!(faults[0].title, "there is no expression here");
    }
}

#[test]
fn signs_of_other_languages_are_answered_with_the_right_one() {
    answered(
        Want::Any,
        r#"
        level > 2 % && foam < 1 %
                    ^^ not understood
        [not-a-sign] `&&` is not a sign of this language
        help: write `and`

        level > 2 % || foam < 1 %
                    ^^ not understood
        [not-a-sign] `||` is not a sign of this language
        help: write `or`

        !known(foam)
        ^ not understood
        [not-a-sign] `!` is not a sign of this language
        help: write `not`

        heard = no
              ^ not understood
        [not-a-sign] `=` is not a sign of this language
        help: write `==`

        level <> 2 %
              ^^ not understood
        [not-a-sign] `<>` is not a sign of this language
        help: write `!=`

        level ≤ 2 %
              ^ not understood
        [not-a-sign] `≤` is not a sign of this language
        help: write `<=`

        level × 2
              ^ not understood
        [not-a-sign] `×` is not a sign of this language
        help: write `*`

        level − foam
              ^ not understood
        [not-a-sign] `−` is not a sign of this language
        help: write `-`

        level =< 2 %
              ^^ not understood
        [not-a-sign] `=<` is not a sign of this language
        help: write `<=`

        level > = 2 %
              ^^^ a space stands inside
        [not-a-sign] `>=` is one sign
        help: write `>=` without a space

        heard == "no"
                 ^^^^ quoted
        [quoted] nothing is written in quotes here
        help: names and answers stand without quotes, as in `heard == no`

        KNOWN(foam) AND true
        ^^^^^ not known
        [unknown-function] there is no table or function called `KNOWN`
        help: did you mean `known`?
        KNOWN(foam) AND true
                    ^^^ capitals stand here
        [not-a-sign] `AND` is written in small letters
        help: write `and`

        [level + 1 %] * 2
        ^ not understood
        [not-a-sign] `[` is not a sign of this language
        help: write `(`
        [level + 1 %] * 2
                    ^ not understood
        [not-a-sign] `]` is not a sign of this language
        help: write `)`

        level ^ 2
              ^ not understood
        [not-a-sign] there is no sign for powers
        help: multiply the number by itself: `x * x`

        level ** 2
              ^^ not understood
        [not-a-sign] there is no sign for powers
        help: multiply the number by itself: `x * x`

        level % 2
              ^ no number before it
        [not-a-sign] `%` stands only behind a number
        help: write a percentage as `2 %`; a reading brings its unit along; there is no remainder sign

        known(foam) ? 1 : 2
                    ^ not understood
        [not-a-sign] `?` is not a sign of this language
        help: a choice between two is written `if c then a else b`
        known(foam) ? 1 : 2
                        ^ not understood
        [not-a-sign] `:` is not a sign of this language
        help: a choice between two is written `if c then a else b`

        level # foam
              ^ not understood
        [not-a-sign] `#` has no meaning in an expression
        "#,
    );
}

#[test]
fn numbers_are_plain_decimals() {
    answered(
        Want::Any,
        r#"
        level > .5 %
                ^^ half a number
        [bad-number] a digit is missing before the decimal point
        help: write `0.5`

        level > 5. %
                ^^ half a number
        [bad-number] a digit is missing after the decimal point
        help: write `5`

        1.2.3
        ^^^^^ more than one decimal point
        [bad-number] `1.2.3` is not a number

        2,5 pt
         ^ not expected here
        [comma] a comma stands only between the values of `min` and `max`
        help: a decimal has a point: `2.5 pt`

        1e3
         ^^ not understood
        [bad-number] powers of ten are not written here
        help: write the number out in full

        1_000
         ^^^^ not a digit
        [bad-number] a number is written in digits only
        help: leave out the `_`

        ½ pt
        ^ not a decimal
        [bad-number] `½` is not a number here
        help: write it as a decimal: `0.5`

        2 3/4
          ^ expected `+`, `<`, `and` or another sign before it
        [sign-missing] a sign is missing between `2` and `3`
        help: write a mixed number as a decimal, such as `2.75`

        12345678901234567890123456789
        ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ more than 28 digits
        [bad-number] this number has 29 digits
        help: no instrument reads that many: shorten it

        +5 %
        ^ expected a number, a name or a bracket
        [value-missing] a `+` stands only between two values
        help: leave it out
        "#,
    );
}

#[test]
fn units_are_symbols_directly_behind_a_number() {
    answered(
        Want::Any,
        r#"
        level > 2 percent
                  ^^^^^^^ not known as a unit
        [unknown-unit] `percent` is not a unit
        help: did you mean `2 %`?

        alcohol > 2 pints
                    ^^^^^ not known as a unit
        [unknown-unit] `pints` is not a unit
        help: did you mean `2 pt`?

        settle_every > 2 minutes
                         ^^^^^^^ not known as a unit
        [unknown-unit] `minutes` is not a unit
        help: did you mean `2 min`?

        2 lbs
          ^^^ not known as a unit
        [unknown-unit] `lbs` is not a unit
        help: did you mean `2 lb`?

        2 level
          ^^^^^ not known as a unit
        [unknown-unit] `level` is not a unit
        help: if `level` is a name, put `*` or another sign before it: `2 * level`

        level %
              ^ no number before it
        [not-a-sign] `%` stands only behind a number
        help: write a percentage as `2 %`; a reading brings its unit along; there is no remainder sign

        10 %/cup
        ^^^^^^^^ can be read in two ways
        [unit-or-name] `/cup` may be part of a unit or a division by `cup`
        help: to divide, write `10 % / cup`; to mean the unit, make the number a figure with its own name
        "#,
    );
}

#[test]
fn an_expression_that_is_not_finished_says_what_is_missing() {
    answered(
        Want::Any,
        r#"
        level >
              ^ nothing follows `>`
        [ends-early] the expression ends too early
        help: a number, a name or a bracket must follow

        level + * 2
                ^ expected a number, a name or a bracket
        [value-missing] a value is missing between `+` and `*`

        (level + foam
        ^ opened here
        [bracket] this bracket is never closed
        help: put a `)` where it ends

        level + foam)
                    ^ no `(` belongs to it
        [bracket] this bracket closes nothing
        help: take it out, or open a bracket before

        level foam
              ^^^^ expected `+`, `<`, `and` or another sign before it
        [sign-missing] a sign is missing between `level` and `foam`

        level (2)
        ^^^^^ a bracket follows it
        [unknown-function] `level` is not a table, and nothing can be looked up in it
        help: to multiply, write `level * (…)`

        level is 2 %
              ^^ expected `+`, `<`, `and` or another sign before it
        [sign-missing] a sign is missing between `level` and `is`
        help: write `==`

        if level > 2 %
        ^^ no `then` belongs to it
        [if-parts] this `if` has no `then`
        help: write both ways: `if c then a else b`

        if level > 2 % then 1 %
        ^^ no `else` belongs to it
        [if-parts] this `if` has no `else`
        help: write both ways: `if c then a else b`

        level > 2 % then 1 %
                    ^^^^ no `if` belongs to it
        [if-parts] `then` without `if`
        help: a choice between two is written `if c then a else b`

        if level > 2 % else 1 %
        ^^ no `then` belongs to it
        [if-parts] this `if` has no `then`
        help: write both ways: `if c then a else b`

        ()
         ^ expected a number, a name or a bracket
        [value-missing] a value is missing before `)`

        abs level
        ^^^ no `(` behind it
        [bracket] `abs` needs brackets
        help: write `abs(level)`

        level, foam
             ^ not expected here
        [comma] a comma stands only between the values of `min` and `max`

        min(level foam)
                  ^^^^ expected `+`, `<`, `and` or another sign before it
        [sign-missing] a sign is missing between `level` and `foam`

        and level > 2 %
        ^^^ expected a number, a name or a bracket
        [value-missing] a value is missing before `and`
        "#,
    );
}

#[test]
fn comparisons_do_not_chain() {
    answered(
        Want::Any,
        r#"
        1 % < level < 2 %
                    ^ a second comparison
        [chained-comparison] comparisons do not chain
        help: write `1 % < level and level < 2 %`

        level == foam == 2 %
                      ^^ a second comparison
        [chained-comparison] comparisons do not chain
        help: write `level == foam and foam == 2 %`

        level > 1 % or 2 %
                       ^^^ neither true nor false
        [wrong-kind] `or` asks for true or false, and `2 %` is a number in %
        help: say both comparisons in full: `level > 2 %`
        "#,
    );
}

#[test]
fn names_nobody_gave_are_reported_once_with_the_nearest() {
    answered(
        Want::Any,
        r#"
        levle > foam
        ^^^^^ not known
        [unknown-name] nothing is called `levle`
        help: did you mean `level`?

        Level > 2 %
        ^^^^^ not known
        [unknown-name] nothing is called `Level`
        help: did you mean `level`?

        temperature > 2 and temperature < 9
        ^^^^^^^^^^^ not known
        [unknown-name] nothing is called `temperature`
        help: an expression can use the figures, readings and values of this file

        lvel + faom
        ^^^^ not known
        [unknown-name] nothing is called `lvel`
        help: did you mean `level`?
        lvel + faom
               ^^^^ not known
        [unknown-name] nothing is called `faom`
        help: did you mean `foam`?

        heard == nope
                 ^^^^ not one of its answers
        [unknown-answer] `heard` has no answer `nope`
        help: did you mean `no`? its answers are `yes` and `no`

        heard == true
                 ^^^^ not one of its answers
        [unknown-answer] `heard` has no answer `true`
        help: its answers are `yes` and `no`

        heard == on
                 ^^ not one of its answers
        [unknown-answer] `heard` has no answer `on`
        help: did you mean `no`? its answers are `yes` and `no`

        no == yes
        ^^ not known
        [unknown-name] nothing is called `no`
        help: an expression can use the figures, readings and values of this file
        no == yes
              ^^^ not known
        [unknown-name] nothing is called `yes`
        help: an expression can use the figures, readings and values of this file

        alcohol_corection(alcohol)
        ^^^^^^^^^^^^^^^^^ not known
        [unknown-function] there is no table or function called `alcohol_corection`
        help: did you mean `alcohol_correction`?

        root(level)
        ^^^^ not known
        [unknown-function] there is no table or function called `root`
        help: the functions are `abs`, `known`, `max`, `min`, `sqrt`, `sum` and `was`

        sqrt(level)
             ^^^^^ %
        [unlike-units] `sqrt` takes the root of a bare number, and this is in %
        help: divide by one of its unit first, as in `sqrt(x / 1 %)`

        was(alcohl)
            ^^^^^^ not known
        [unknown-name] nothing is called `alcohl`
        help: did you mean `alcohol`?
        "#,
    );
}

#[test]
fn unlike_units_are_never_joined() {
    answered(
        Want::Any,
        r#"
        level + alcohol
        ^^^^^^^^^^^^^^^ `level` is in %, `alcohol` is in pt
        [unlike-units] adds pt to %
        help: nothing converts by itself: bring both into one unit

        level - 0.25
                ^^^^ a bare number, where % is wanted
        [unlike-units] takes a bare number from %
        help: write `0.25 %`

        0.25 < level
        ^^^^ a bare number, where % is wanted
        [unlike-units] compares a bare number with %
        help: write `0.25 %`

        level < 2 pt
        ^^^^^^^^^^^^ `level` is in %, `2 pt` is in pt
        [unlike-units] compares % with pt
        help: nothing converts by itself: bring both into one unit

        level + sum(cups)
        ^^^^^^^^^^^^^^^^^ `level` is in %, `sum(cups)` is in cup
        [unlike-units] adds cup to %
        help: multiply the cups by what one is worth: a figure in %/cup

        max(level, alcohol)
        ^^^^^^^^^^^^^^^^^^^ `level` is in %, `alcohol` is in pt
        [unlike-units] looks for the larger of % and pt
        help: nothing converts by itself: bring both into one unit

        if known(foam) then level else alcohol
                            ^^^^^^^^^^^^^^^^^^ `level` is in %, `alcohol` is in pt
        [unlike-units] gives % in one case and pt in the other
        help: nothing converts by itself: bring both into one unit

        if known(foam) then level else 0
                                       ^ a bare number, where % is wanted
        [unlike-units] gives % in one case and a bare number in the other
        help: write `0 %`

        alcohol_correction(2.5)
                           ^^^ a bare number
        [unlike-units] table `alcohol_correction` is looked up in pt, and this gives a bare number
        help: write `2.5 pt`

        alcohol_correction(level)
                           ^^^^^ %
        [unlike-units] table `alcohol_correction` is looked up in pt, and this gives %
        help: nothing converts by itself: bring both into one unit

        round > 1 %
        ^^^^^^^^^^^ `round` is a bare number, `1 %` is in %
        [unlike-units] compares a bare number with %
        help: a bare number does not take on a unit: write the unit behind it, or divide by the unit first

        level == 2
                 ^ a bare number, where % is wanted
        [unlike-units] compares % with a bare number
        help: write `2 %`

        2 in > 1/8 in
               ^^^^^^ divides by a number in in
        [unlike-units] compares in with 1/in
        help: write the fraction as a decimal: `0.125 in`
        "#,
    );
}

#[test]
fn kinds_do_not_mix() {
    answered(
        Want::Any,
        r#"
        heard + 1
        ^^^^^ not a number
        [wrong-kind] `+` works on numbers, and `heard` is a choice
        help: give each answer its number: `if heard == yes then … else …`

        heard and known(foam)
        ^^^^^ neither true nor false
        [wrong-kind] `and` asks for true or false, and `heard` is a choice
        help: compare it with an answer, such as `heard == yes`

        level and known(foam)
        ^^^^^ neither true nor false
        [wrong-kind] `and` asks for true or false, and `level` is a number in %
        help: compare it with something, such as `level > 0 %`

        not level
            ^^^^^ neither true nor false
        [wrong-kind] `not` asks for true or false, and `level` is a number in %
        help: compare it with something, such as `level > 0 %`

        if level then 1 % else 2 %
           ^^^^^ neither true nor false
        [wrong-kind] `if` asks for true or false, and `level` is a number in %
        help: compare it with something, such as `level > 0 %`

        if known(foam) then 1 % else known(cup)
                                     ^^^^^^^^^^ true or false, where the other is a number in %
        [wrong-kind] gives a number in % in one case and true or false in the other
        help: both cases must give the same kind, in one unit

        heard == pieces
        ^^^^^^^^^^^^^^^ two choices
        [wrong-kind] two different choices have no answers in common
        help: compare each with one of its own answers, and join them with `and`

        heard < yes
              ^ compares numbers only
        [wrong-kind] answers have no order, and `heard` is a choice
        help: ask whether it is an answer with `==`, or is not with `!=`

        heard > 2
              ^ compares numbers only
        [wrong-kind] answers have no order, and `heard` is a choice
        help: ask whether it is an answer with `==`, or is not with `!=`

        level > 2 % or
                    ^^ nothing follows `or`
        [ends-early] the expression ends too early
        help: a number, a name or a bracket must follow

        known(foam) == 1
        ^^^^^^^^^^^^^^^^ `known(foam)` is true or false, `1` is a bare number
        [wrong-kind] true or false cannot be compared with a bare number
        help: a truth is asked as it is: `c` or `not c`

        -heard
         ^^^^^ not a number
        [wrong-kind] `-` works on numbers, and `heard` is a choice
        help: give each answer its number: `if heard == yes then … else …`

        technician == 1
        ^^^^^^^^^^ words
        [wrong-kind] `technician` is free words, and nothing can be worked out from words
        help: all that can be asked is whether it was given: `known(technician)`

        abs(known(foam))
            ^^^^^^^^^^^ not a number
        [wrong-kind] `abs` works on numbers, and `known(foam)` is true or false
        help: a truth becomes a number with `if … then … else …`
        "#,
    );
}

#[test]
fn functions_say_what_they_take() {
    answered(
        Want::Any,
        r#"
        abs()
        ^^^^^ has none
        [wrong-count] `abs` takes one value, and here it has none
        help: write `abs(x)`

        abs(level, foam)
        ^^^^^^^^^^^^^^^^ has 2
        [wrong-count] `abs` takes one value, and here it has 2
        help: write `abs(x)`

        min(level)
        ^^^^^^^^^^ has one
        [wrong-count] `min` takes two values, and here it has one
        help: write `min(a, b)`

        max(level, foam, cup)
        ^^^^^^^^^^^^^^^^^^^^^ has 3
        [wrong-count] `max` takes two values, and here it has 3
        help: put one inside the other: `max(a, max(b, c))`

        sum(heard)
            ^^^^^ not a reading it can take
        [not-a-reading] `sum` takes a reading, and `heard` is a choice, and its answers do not add up
        help: compare it with an answer, as in `heard == …`

        sum(settled)
            ^^^^^^^ not a reading it can take
        [not-a-reading] `sum` takes a reading, and `settled` is a derived value, not a reading
        help: use `settled` as it is, or name the reading it comes from

        was(level + foam)
            ^^^^^^^^^^^^ not the name of a reading
        [not-a-reading] `was` takes the name of a reading
        help: write `was(reading)`, and work with what it gives outside the brackets

        known(change_most)
              ^^^^^^^^^^^ not a reading it can take
        [not-a-reading] `known` takes a reading, and `change_most` is a figure, the same in every run
        help: use `change_most` as it is, or name the reading it comes from

        was(technician)
            ^^^^^^^^^^ not a reading it can take
        [not-a-reading] `was` takes a reading, and `technician` is free words, and nothing can be worked out from words
        help: all that can be asked is whether it was given: `known(technician)`

        alcohol_correction
        ^^^^^^^^^^^^^^^^^^ no `(` behind it
        [bracket] `alcohol_correction` is a table, and nothing is looked up in it
        help: write `alcohol_correction(x)`, where x is a number in pt

        alcohol_correction()
        ^^^^^^^^^^^^^^^^^^^^ has none
        [wrong-count] `alcohol_correction` takes one value, and here it has none
        help: write `alcohol_correction(x)`

        level(2)
        ^^^^^ a bracket follows it
        [unknown-function] `level` is not a table, and nothing can be looked up in it
        help: to multiply, write `level * (…)`

        round(level)
        ^^^^^ a bracket follows it
        [unknown-function] nothing is rounded in an expression
        help: a result is rounded once, by its `report`; `round` alone is the number of the round

        sum
        ^^^ no `(` behind it
        [bracket] `sum` needs brackets
        help: write `sum(reading)`

        sum(alcohol_correction)
            ^^^^^^^^^^^^^^^^^^ not a reading it can take
        [not-a-reading] `sum` takes a reading, and `alcohol_correction` is a table, not a reading
        "#,
    );
}

#[test]
fn a_divisor_that_is_always_zero_is_refused() {
    answered(
        Want::Any,
        r#"
        level / 0
                ^ zero
        [division-by-zero] this divides by zero
        help: nothing can be divided by zero: divide by something that is not

        level / none_yet
                ^^^^^^^^ `none_yet` is always zero
        [division-by-zero] this divides by zero
        help: nothing can be divided by zero: divide by something that is not

        level / (2 % - 2 %)
                ^^^^^^^^^^^ `(2 % - 2 %)` is always zero
        [division-by-zero] this divides by zero
        help: nothing can be divided by zero: divide by something that is not

        1 / (if true then 0 else 1)
            ^^^^^^^^^^^^^^^^^^^^^^^ `(if true then 0 else 1)` is always zero
        [division-by-zero] this divides by zero
        help: nothing can be divided by zero: divide by something that is not
        "#,
    );
}

#[test]
fn a_unit_stays_one_a_report_can_name() {
    answered(
        Want::Any,
        r#"
        1 lb * 1 ft * 1 s * 1 cup * 1 %
        ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ lb·ft·s·cup and %
        [too-many-factors] this gives a unit with more factors than any reading or result has
        "#,
    );
}

#[test]
fn every_fault_of_an_expression_is_reported_at_once() {
    answered(
        Want::Any,
        r#"
        levle && foam = 2
        ^^^^^ not known
        [unknown-name] nothing is called `levle`
        help: did you mean `level`?
        levle && foam = 2
              ^^ not understood
        [not-a-sign] `&&` is not a sign of this language
        help: write `and`
        levle && foam = 2
                      ^ not understood
        [not-a-sign] `=` is not a sign of this language
        help: write `==`
        levle && foam = 2
                        ^ a bare number, where % is wanted
        [unlike-units] compares % with a bare number
        help: write `2 %`

        level + alcohol > fom or heard
        ^^^^^^^^^^^^^^^ `level` is in %, `alcohol` is in pt
        [unlike-units] adds pt to %
        help: nothing converts by itself: bring both into one unit
        level + alcohol > fom or heard
                          ^^^ not known
        [unknown-name] nothing is called `fom`
        help: did you mean `foam`?
        level + alcohol > fom or heard
                                 ^^^^^ neither true nor false
        [wrong-kind] `or` asks for true or false, and `heard` is a choice
        help: compare it with an answer, such as `heard == yes`

        min(levl, 2 pt / 0) <
            ^^^^ not known
        [unknown-name] nothing is called `levl`
        help: did you mean `level`?
        min(levl, 2 pt / 0) <
                         ^ zero
        [division-by-zero] this divides by zero
        help: nothing can be divided by zero: divide by something that is not
        min(levl, 2 pt / 0) <
                            ^ nothing follows `<`
        [ends-early] the expression ends too early
        help: a number, a name or a bracket must follow
        "#,
    );
}

#[test]
fn the_place_in_the_file_says_what_is_wanted() {
    answered(
        Want::Truth,
        r#"
        level
        ^^^^^ neither true nor false
        [wrong-kind] true or false is wanted here, and `level` is a number in %
        help: compare it with something, such as `level > 0 %`

        heard
        ^^^^^ neither true nor false
        [wrong-kind] true or false is wanted here, and `heard` is a choice
        help: compare it with an answer, such as `heard == yes`

        2
        ^ neither true nor false
        [wrong-kind] true or false is wanted here, and `2` is a bare number
        help: compare it with a reading, as in `a > b`

        was(heard)
        ^^^^^^^^^^ neither true nor false
        [wrong-kind] true or false is wanted here, and `was(heard)` is a choice
        help: compare it with an answer, such as `was(heard) == yes`
        "#,
    );
    answered(
        Want::Number(unit("%")),
        r#"
        0.25
        ^^^^ a bare number
        [unlike-units] the result is wanted in %, and this gives a bare number
        help: write `0.25 %`

        alcohol
        ^^^^^^^ pt
        [unlike-units] the result is wanted in %, and this gives pt
        help: nothing converts by itself: bring both into one unit

        known(foam)
        ^^^^^^^^^^^ not a number
        [wrong-kind] a number in % is wanted here, and `known(foam)` is true or false
        help: a truth becomes a number with `if … then … else …`

        heard
        ^^^^^ not a number
        [wrong-kind] a number in % is wanted here, and `heard` is a choice
        help: give each answer its number: `if heard == yes then … else …`

        -2
        ^^ a bare number
        [unlike-units] the result is wanted in %, and this gives a bare number
        help: write `-2 %`

        sum(cups)
        ^^^^^^^^^ cup
        [unlike-units] the result is wanted in %, and this gives cup
        help: multiply the cups by what one is worth: a figure in %/cup
        "#,
    );
}
