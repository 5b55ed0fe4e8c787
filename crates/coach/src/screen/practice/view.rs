//! How the practice screen looks.
//!
//! **Invariant:** drawing changes nothing. What is to be recalled is drawn only after the try, or where the session says that
//! it is shown.

use std::borrow::Cow;
use std::fmt::Write as _;

use engine::{Act, Phase, Tick};
use practice::session::{Explained, Perform, Summary, Tell, TrialAhead};
use practice::{Due, Form, Question};
use procedure::{ReadingKind, Wants};
use quantity::Span;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::act::Acting;
use super::words::{help_lines, keys_now, summary_lines};
use super::{Over, PracticeModel, Try};
use crate::screen::digits::{self, Size};
use crate::screen::entry::{Entry, Typed};
use crate::screen::face::{said, seconds_gone};
use crate::screen::instrument;
use crate::screen::model::{Ask, MessageKind, Overlay};
use crate::screen::view::paint::{Column, line, line_right, lines, push_cut};
use crate::screen::view::{draw_overlay, ground, next_words};

/// From this size on everything is shown.
const FULL: (u16, u16) = (60, 16);

/// Columns of the keys in the help.
const HELP_KEYS_WIDE: u16 = 16;

/// Draws the practice screen.
pub(super) fn draw(model: &PracticeModel, now: Tick, buf: &mut Buffer, area: Rect) {
    if area.is_empty() {
        return;
    }
    ground(&model.theme, buf, area);
    if area.width < FULL.0 || area.height < FULL.1 {
        let mut column = Column::new(buf, area);
        return essential(model, now, &mut column);
    }
    let row = |y: u16| Rect { x: area.x + 1, y: area.y + y, width: area.width - 2, height: 1 };
    header(model, buf, row(0));
    place(model, buf, row(1));
    heading(model, now, buf, Rect { x: area.x, width: area.width, ..row(2) });
    let mut middle = Rect { y: area.y + 3, height: area.height - 5, ..row(0) };
    if let Some((what, hint)) = &model.kept.failed {
        let key = if model.letters_are_text() { "Ctrl-F" } else { "f" };
        let mut column = Column::new(buf, Rect { height: 3, ..middle });
        column.block(
            "✗ ",
            model.theme.warn,
            &format!("NOT RECORDED: {what}. {hint} It goes on in memory. {key}: another folder."),
            model.theme.warn,
        );
        let y = column.area.y;
        middle = Rect { y, height: middle.bottom().saturating_sub(y), ..middle };
    }
    match &model.over {
        Some(over) => draw_over(model, over, buf, middle),
        None => body(model, now, buf, middle),
    }
    footer(model, now, buf, row(area.height - 2), row(area.height - 1));
}

fn header(model: &PracticeModel, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let (recorded, style) = match (&model.kept.failed, model.kept.awaited) {
        (Some(_), _) if model.kept.in_memory == 0 => (" NOT RECORDED ".to_owned(), theme.alarm),
        (Some(_), _) => (format!(" NOT RECORDED: {} only in memory ", model.kept.in_memory), theme.alarm),
        (None, 0) => ("kept ✓".to_owned(), theme.good),
        (None, _) => ("keeping …".to_owned(), theme.quiet),
    };
    let end = line_right(buf, area, &recorded, style);
    let left = Rect { width: end.saturating_sub(area.x + 2), ..area };
    let x = line(buf, left, "Practice", theme.strong);
    let text = match (&model.bench, &model.options.branch) {
        (Some(bench), None) => format!(" · {} · {}", bench.edition.system, bench.edition.title),
        (Some(bench), Some(branch)) => format!(" · {} · {branch}", bench.edition.id),
        (None, _) => " · what is due today".to_owned(),
    };
    let room = left.right().saturating_sub(x);
    let mut cut = String::with_capacity(text.len());
    push_cut(&mut cut, &text, usize::from(room));
    line(buf, Rect { x, width: room, ..left }, &cut, theme.quiet);
}

/// How far it has come, and how well.
fn place(model: &PracticeModel, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let (done, of) = model.session.place();
    let width = 20_usize;
    let full = match model.session.due() {
        Due::TrialAhead(_) => 0,
        _ => (done * width).checked_div(of).unwrap_or(width).min(width),
    };
    let bar: String = (0..width).map(|at| if at < full { '█' } else { '░' }).collect();
    let x = line(buf, area, &bar, theme.good);
    let right = if model.options.speed > 1 { format!("waiting ×{}", model.options.speed) } else { String::new() };
    let end = line_right(buf, area, &right, theme.alarm);
    let mut text = match model.session.due() {
        Due::Finished(_) | Due::TrialAhead(_) => String::new(),
        _ if model.is_on_run() => format!(" step {} of {of}", (done + 1).min(of)),
        _ => format!(" {done} of {of} questions"),
    };
    let share = model.session.so_far();
    if !model.is_trial() && share.of > 0 {
        let _ = write!(text, " · right {} of {}", share.right, share.of);
    }
    if let Some(help) = model.help_now().filter(|_| !model.is_trial()) {
        let _ = write!(text, " · help: {}", help.words());
    }
    line(buf, Rect { x, width: end.saturating_sub(x), ..area }, &text, theme.plain);
}

/// A rule with what is to be done, and the clock of the timed run.
fn heading(model: &PracticeModel, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    for x in area.left()..area.right() {
        buf[(x, area.y)].set_symbol("─").set_style(theme.quiet);
    }
    let inner = Rect { x: area.x + 2, width: area.width.saturating_sub(4), ..area };
    let text = match model.session.due() {
        Due::Tell(_) => " LEARN IT ",
        Due::Ask(_) => " WHAT IS IT? ",
        Due::Explain(explained) if explained.judged.right => " ✓ RIGHT ",
        Due::Explain(_) => " ✗ NOT THIS ",
        Due::Perform(_) if is_written_down(model) => " WRITE IT DOWN ",
        Due::Perform(_) if is_reading(model, now) => " READ IT ",
        Due::Perform(perform) if perform.shown => " DO IT ",
        Due::Perform(_) => " DO IT FROM MEMORY ",
        Due::TrialAhead(_) => " A TIMED RUN ",
        Due::Finished(_) => " HOW IT WENT ",
    };
    line(buf, inner, text, theme.strong);
    if let Some(since) = model.trial_since {
        let (gone, _) = seconds_gone(since, now);
        line_right(buf, inner, &format!(" TIMED RUN {} ", Span::from_secs(gone).clock()), theme.strong);
    }
}

fn body(model: &PracticeModel, now: Tick, buf: &mut Buffer, area: Rect) {
    match model.session.due() {
        Due::Tell(tell) => draw_tell(model, tell, &mut Column::new(buf, area)),
        Due::Ask(question) => draw_ask(model, question, &mut Column::new(buf, area)),
        Due::Explain(explained) => draw_explain(model, explained, &mut Column::new(buf, area)),
        Due::Perform(perform) => draw_act(model, perform, now, buf, area),
        Due::TrialAhead(ahead) => draw_ahead(model, ahead, &mut Column::new(buf, area)),
        Due::Finished(summary) => {
            draw_summary(model, summary, buf, area);
        }
    }
}

/// How it went, from the line the arrows have gone to.
fn draw_summary(model: &PracticeModel, summary: &Summary, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let width = area.width.saturating_sub(2);
    let mut rows: Vec<(&str, String, Style)> = Vec::new();
    for (mark, text) in summary_lines(model, summary) {
        let style = match mark {
            "✗ " => theme.warn,
            "✓ " => theme.good,
            _ => theme.plain,
        };
        let mut mark = mark;
        if text.is_empty() {
            rows.push(("", String::new(), style));
        }
        for part in lines(&text, width) {
            rows.push((mark, part.to_owned(), style));
            mark = "  ";
        }
    }
    let height = usize::from(area.height);
    let hidden = rows.len().saturating_sub(height);
    let from = model.scrolled.min(hidden);
    for (y, (mark, text, style)) in (area.y..area.bottom()).zip(rows.iter().skip(from)) {
        let row = Rect { y, height: 1, ..area };
        let x = line(buf, row, mark, *style);
        line(buf, Rect { x, width: row.right().saturating_sub(x), ..row }, text, *style);
    }
    if from < hidden && area.height > 0 {
        let last = Rect { y: area.bottom() - 1, height: 1, ..area };
        line_right(buf, last, " ↓ more ", theme.strong);
    }
}

fn draw_tell(model: &PracticeModel, tell: &Tell, column: &mut Column<'_>) {
    let theme = &model.theme;
    let method = if model.bench.is_none() { format!("{} · ", tell.method) } else { String::new() };
    let because = tell.because.map(|why| format!(" · {}", why.words(model.options.today))).unwrap_or_default();
    column.line(&format!("{method}{}{because}", tell.stage), theme.quiet);
    column.skip(1);
    column.block("", theme.strong, &tell.text, theme.strong);
    column.skip(1);
    for (asked, answer) in &tell.facts {
        column.block("  ", theme.plain, &format!("{asked}  {answer}"), theme.number);
    }
    if !tell.facts.is_empty() {
        column.skip(1);
    }
    if let Some(caution) = &tell.caution {
        column.block("▲ ", theme.warn, caution, theme.warn);
    }
    if let Some(why) = &tell.why {
        column.block("Why: ", theme.quiet, why, theme.plain);
    }
    if let Some(slip) = &tell.slip {
        column.block("The usual slip: ", theme.quiet, slip, theme.plain);
    }
}

fn draw_ask(model: &PracticeModel, question: &Question, column: &mut Column<'_>) {
    let theme = &model.theme;
    let mut top = if model.bench.is_none() { question.method.clone() } else { String::new() };
    if let Some(stage) = &question.stage {
        if !top.is_empty() {
            top.push_str(" · ");
        }
        top.push_str(stage);
    }
    column.line(&top, theme.quiet);
    for done in &question.after {
        column.block("✓ ", theme.good, done, theme.quiet);
    }
    for given in &question.given {
        column.block("  ", theme.quiet, given, theme.quiet);
    }
    column.skip(1);
    if let Some(about) = &question.about {
        column.block("", theme.plain, about, theme.plain);
    }
    column.block("", theme.strong, &question.prompt, theme.strong);
    column.skip(1);
    match (&question.form, &model.attempt) {
        (Form::Choices(choices), attempt) => {
            let marked = if let Try::Choice(marked) = attempt { *marked } else { None };
            for (n, choice) in choices.iter().enumerate() {
                let style = if marked == Some(n) { theme.chosen } else { theme.plain };
                column.block(&format!(" {} ", n + 1), theme.key, &format!(" {}", choice.text), style);
            }
        }
        (Form::Number(number), Try::Number(field)) => {
            column.line(&format!("▸ {}█ {}", field.text, number.unit), theme.number);
        }
        (Form::Number(number), _) => column.line(&format!("▸ █ {}", number.unit), theme.number),
    }
    column.skip(1);
    draw_said(model, column);
}

fn draw_explain(model: &PracticeModel, explained: &Explained, column: &mut Column<'_>) {
    let theme = &model.theme;
    let question = &explained.question;
    if let Some(about) = &question.about {
        column.block("", theme.quiet, about, theme.quiet);
    }
    column.block("", theme.quiet, &question.prompt, theme.quiet);
    column.skip(1);
    let judged = &explained.judged;
    let given = explained.given.as_deref().unwrap_or("not known");
    let (mark, style) = if judged.right { ("✓ ", theme.good) } else { ("✗ ", theme.warn) };
    column.block(mark, style, given, style);
    if !judged.right {
        let slip = judged.slip.map(|slip| format!("{}. ", capital(slip.words()))).unwrap_or_default();
        column.block("  ", theme.quiet, &format!("{slip}{}", judged.because), theme.plain);
        column.skip(1);
        column.line("Right is:", theme.quiet);
        column.block("✓ ", theme.good, &judged.right_answer, theme.strong);
    } else {
        column.skip(1);
        if given != judged.right_answer {
            column.block("  ", theme.plain, &judged.right_answer, theme.strong);
        }
        column.block("  ", theme.plain, &judged.because, theme.plain);
    }
    column.skip(1);
    if !judged.sources.is_empty() {
        column.block("  ", theme.quiet, &judged.sources.join("; "), theme.quiet);
    }
    let (before, after) = explained.level;
    if before != after {
        let direction = if after > before { "less help" } else { "more help" };
        let text = format!("Next time with {direction}: {}.", after.words());
        column.block("  ", theme.quiet, &text, theme.quiet);
    }
    draw_said(model, column);
}

fn draw_ahead(model: &PracticeModel, ahead: &TrialAhead, column: &mut Column<'_>) {
    let theme = &model.theme;
    column.block(
        "",
        theme.strong,
        &format!("{}: from the first act to the last, without help.", ahead.method),
        theme.strong,
    );
    column.skip(1);
    let text = format!(
        "Up to {} acts are asked. Each counts at the first try; nothing is said about right or wrong before the end. One clock \
         runs for all of it. Passed is every act, as an examiner would have it.",
        ahead.acts
    );
    column.block("", theme.plain, &text, theme.plain);
    column.skip(1);
    column.block("", theme.plain, "A fresh specimen lies ready.", theme.plain);
    column.skip(1);
    draw_said(model, column);
}

fn draw_said(model: &PracticeModel, column: &mut Column<'_>) {
    let Some(said) = &model.said else { return };
    let (mark, style) = if said.is_bad { ("✗ ", model.theme.warn) } else { ("· ", model.theme.plain) };
    column.block(mark, style, &said.text, style);
}

// ---------------------------------------------------------------------------------------------- acting

fn draw_act(model: &PracticeModel, perform: &Perform, now: Tick, buf: &mut Buffer, area: Rect) {
    let Some(acting) = &model.acting else { return };
    let tick = model.clock.tick(now);
    if let Some(overlay) = &acting.model.overlay {
        if let (true, Overlay::Ask { what: Ask::OverruleReason(_), field }) = (model.is_trial(), overlay) {
            // What the procedure says against it would help.
            let mut column = Column::new(buf, area);
            column.line(" GO ON ALL THE SAME ", model.theme.chosen);
            column.skip(1);
            column.block("", model.theme.plain, "Why do you go on?", model.theme.plain);
            column.skip(1);
            return column.line(&format!("▸ {}█", field.text), model.theme.number);
        }
        return draw_overlay(&acting.model, overlay, tick, buf, area);
    }
    let shown = acting.shown(tick);
    let left = match &shown {
        Some(shown) => {
            let (least, _) = instrument::least(shown);
            let width = (area.width / 2).max(least).min(area.width.saturating_sub(28));
            let right = Rect { x: area.right() - width, width, ..area };
            if instrument::draw(shown, buf, right, &model.theme) {
                Rect { width: area.width - width - 2, ..area }
            } else {
                area
            }
        }
        None => area,
    };
    let mut column = Column::new(buf, left);
    events(model, acting, &mut column);
    to_do(model, acting, perform, tick, &mut column);
    column.skip(1);
    big(model, acting, perform, tick, &mut column);
    typed(model, acting, perform, tick, &mut column);
    if model.is_trial() {
        return draw_said(model, &mut column);
    }
    if let Some(message) = &acting.model.message {
        let theme = &model.theme;
        let (mark, style) = match message.kind {
            MessageKind::Refused => ("✗ ", theme.warn),
            MessageKind::Finding | MessageKind::Warned => ("▲ ", theme.warn),
            MessageKind::Back => ("↶ ", theme.warn),
            MessageKind::Note => ("✓ ", theme.good),
        };
        column.block(mark, style, &message.text, style);
    }
    if let Some(hint) = &acting.model.hint {
        column.block("· ", model.theme.quiet, hint, model.theme.quiet);
    }
    draw_said(model, &mut column);
}

/// What came about by itself.
fn events(model: &PracticeModel, acting: &Acting, column: &mut Column<'_>) {
    let theme = &model.theme;
    if let Some(text) = &acting.was_away {
        column.block("◷ ", theme.alarm, text, theme.alarm);
        column.skip(1);
    }
    match &acting.happening {
        Some(specimen::Happening::Incident { says, .. }) => {
            column.block("▶ ", theme.alarm, says, theme.alarm);
            column.skip(1);
        }
        Some(specimen::Happening::OnPurpose { says }) => {
            column.block("▶ On purpose: ", theme.chosen, says, theme.strong);
            column.skip(1);
        }
        Some(specimen::Happening::Away { .. }) | None => {}
    }
}

fn to_do(model: &PracticeModel, acting: &Acting, perform: &Perform, tick: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &acting.model.run;
    match run.phase() {
        Phase::Ended => {
            let because = run.endings().last().map_or("", |ended| ended.because.as_str());
            column.block("✗ ", theme.warn, &format!("The attempt has ended: {because}."), theme.warn);
            let again = run.endings().last().and_then(|ended| ended.again);
            if let Some(again) = again.filter(|_| !model.is_trial()) {
                column.block("", theme.plain, &run.say(&run.edition().agains[usize::from(again.0)].say), theme.plain);
            }
            return;
        }
        Phase::AtStep => {}
        Phase::Finished | Phase::Closed { .. } => return,
    }
    let offer = run.offer(tick);
    let Some((_, step)) = offer.step else { return };
    if !perform.shown {
        if acting.reading(tick).is_none() {
            column.block("", theme.strong, "Do it now.", theme.strong);
            let how = match (&step.wants, offer.standing.begun) {
                (Wants::Count { .. }, _) => "Type how many you give, or press + for each one; then Space.",
                (Wants::Hold { .. } | Wants::Timed { .. }, None) => {
                    "Space begins it. Then it is yours to end it in time."
                }
                (Wants::Hold { turns: Some(_), .. }, Some(_)) => {
                    "Space turns it; once it has lasted long enough, upright, Space ends it."
                }
                (Wants::Hold { .. } | Wants::Timed { .. }, Some(_)) => "Space ends it.",
                _ => "Space says that it is done.",
            };
            column.block("", theme.quiet, how, theme.quiet);
        }
        return;
    }
    let stage = &run.edition().stages[usize::from(step.stage)];
    column.line(&stage.title, theme.quiet);
    column.block("", theme.strong, &said(run, &step.instruction), theme.strong);
    if let Some(caution) = &step.caution {
        column.block("▲ ", theme.warn, &run.say(caution), theme.warn);
    }
    if let Some(add) = &step.add {
        column.block("c ", theme.key, &run.say(&add.ask), theme.plain);
    }
}

/// The number that matters now; from memory only what has been given so far, never what is asked.
fn big(model: &PracticeModel, acting: &Acting, perform: &Perform, tick: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &acting.model.run;
    let offer = run.offer(tick);
    // What is typed stands beside the instrument already.
    let is_typed =
        matches!(acting.model.entry, Entry::Number(_)) && !matches!(offer.act, Act::Wait { .. } | Act::GiveUp(_));
    if perform.shown && is_typed {
        return;
    }
    if perform.shown || run.phase() != Phase::AtStep {
        let face = acting.model.face(tick);
        if !face.number.is_empty() {
            number(
                column,
                &face.caption,
                &face.number,
                &face.side,
                if face.is_alarm { theme.alarm } else { theme.number },
                theme.quiet,
            );
        }
        return;
    }
    let Some((_, step)) = offer.step else { return };
    let standing = &offer.standing;
    match (&step.wants, standing.begun) {
        (Wants::Count { .. }, _) => {
            let typed = match &acting.model.entry {
                Entry::Count(field) if !field.text.is_empty() => field.text.clone(),
                _ => standing.count.unwrap_or(0).to_string(),
            };
            number(column, "COUNTED", &typed, "", theme.number, theme.quiet);
        }
        (Wants::Hold { turns, .. }, Some(begun)) => {
            let (gone, _) = seconds_gone(begun, tick);
            let side = match turns {
                Some(turns) if standing.is_down => turns.down.as_str(),
                Some(turns) => turns.up.as_str(),
                None => "",
            };
            number(column, "YOUR WATCH", &Span::from_secs(gone).clock(), side, theme.number, theme.quiet);
        }
        // Whoever lifts the mould sees no watch.
        (Wants::Timed { .. }, Some(_)) => column.line("It goes on.", theme.strong),
        (Wants::Settle(_), _) => {
            let (gone, _) = seconds_gone(standing.opened.tick, tick);
            number(column, "YOUR WATCH", &Span::from_secs(gone).clock(), "", theme.number, theme.quiet);
        }
        _ => {}
    }
}

fn number(column: &mut Column<'_>, caption: &str, text: &str, side: &str, style: Style, quiet: Style) {
    column.line(caption, quiet);
    let area = column.area;
    let wide = area.width.saturating_sub(side.chars().count() as u16 + 2);
    let height = area.height.saturating_sub(6).min(5);
    match Size::fitting(text, wide, height) {
        Some(size) if digits::draw(column.buf, area, text, size, style) => {
            let width = size.width(text).unwrap_or(0);
            let beside = Rect {
                x: area.x + width + 2,
                y: area.y + size.height() - 1,
                width: area.width.saturating_sub(width + 2),
                height: 1,
            };
            line(column.buf, beside, side, quiet);
            column.skip(size.height() + 1);
        }
        _ => column.line(&format!("{text} {side}"), style),
    }
}

/// What is typed, or the answers there are.
fn typed(model: &PracticeModel, acting: &Acting, perform: &Perform, tick: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &acting.model.run;
    let Some((_, reading)) = acting.reading(tick) else { return };
    let spec = run.edition().reading(reading);
    // What is read is told, as by the form it is written on; the sentence of the procedure is kept back.
    let style = if perform.shown { theme.plain } else { theme.strong };
    column.block("", style, &said(run, &spec.ask), style);
    match &acting.model.entry {
        Entry::Number(number) => {
            column.line(&format!("▸ {}█ {}", number.text, number.scale.unit.symbol()), theme.number);
            if let Typed::Not(not) = number.typed() {
                column.block("", theme.quiet, &not.to_string(), theme.quiet);
            }
        }
        Entry::Words(words) => {
            column.line(&format!("▸ {}█", words.field.text), theme.number);
            if words.field.text.is_empty() {
                column.block("", theme.quiet, "Enter takes over what stands on the paper.", theme.quiet);
            }
        }
        Entry::Choice(marked) => {
            let ReadingKind::Choice(choices) = &spec.kind else { return };
            for (n, choice) in choices.iter().enumerate() {
                let style = if *marked == Some(n) { theme.chosen } else { theme.plain };
                column.block(&format!(" {} ", choice.key), theme.key, &format!(" {}", choice.label), style);
            }
        }
        Entry::Nothing | Entry::Count(_) => {}
    }
    column.skip(1);
}

// ---------------------------------------------------------------------------------------------- around it

fn footer(model: &PracticeModel, now: Tick, buf: &mut Buffer, upper: Rect, lower: Rect) {
    let theme = &model.theme;
    let mut x = upper.x;
    let is_perform = model.over.is_none() && matches!(model.session.due(), Due::Perform(_));
    let big: (String, String) = match (&model.acting, model.session.due()) {
        (Some(acting), Due::Perform(perform)) if is_perform => {
            let words = match acting.model.overlay {
                Some(_) => "take it".into(),
                None if matches!(acting.model.entry, Entry::Number(_) | Entry::Words(_) | Entry::Choice(_)) => {
                    act_words(acting, model.clock.tick(now))
                }
                None if perform.shown => next_words(&acting.model, model.clock.tick(now)),
                None => act_words(acting, model.clock.tick(now)),
            };
            let key = match (&acting.model.entry, &acting.model.overlay) {
                (Entry::Words(_), _) | (_, Some(_)) => "  ENTER  ".to_owned(),
                (Entry::Choice(None), _) => format!("  {}  ", answer_keys(acting, model.clock.tick(now))),
                _ => "  SPACE  ".to_owned(),
            };
            (key, words.into_owned())
        }
        _ => keys_now(model).0,
    };
    x = line(buf, Rect { x, width: upper.right().saturating_sub(x), ..upper }, &big.0, theme.key);
    line(buf, Rect { x: x + 1, width: upper.right().saturating_sub(x + 1), ..upper }, &big.1, theme.strong);
    let mut x = lower.x;
    for (key, does) in keys_now(model).1 {
        let room = (key.chars().count() + does.chars().count() + 4) as u16;
        if x + room > lower.right() + 2 {
            break;
        }
        x = line(buf, Rect { x, width: lower.right().saturating_sub(x), ..lower }, key, theme.strong);
        x = line(buf, Rect { x: x + 1, width: lower.right().saturating_sub(x + 1), ..lower }, does, theme.quiet) + 2;
    }
}

/// What the big key does, said without giving away what is asked.
fn act_words(acting: &Acting, tick: Tick) -> Cow<'static, str> {
    match &acting.model.entry {
        Entry::Words(words) if words.field.text.is_empty() => return "as it stands on the paper".into(),
        Entry::Choice(None) => return "the answer".into(),
        Entry::Number(number) if number.text.is_empty() => return "takes the reading, once it is typed".into(),
        Entry::Words(_) | Entry::Choice(_) | Entry::Number(_) => return "take it".into(),
        Entry::Count(field) if !field.text.is_empty() => return format!("{} given", field.text).into(),
        Entry::Count(_) | Entry::Nothing => {}
    }
    let offer = acting.model.run.offer(tick);
    // The same words before and after the least time: that they change would tell that it is over.
    let turns = match (offer.step.map(|(_, step)| &step.wants), offer.standing.begun) {
        (Some(Wants::Hold { turns: Some(turns), .. }), Some(_)) => Some(turns),
        _ => None,
    };
    match (offer.act, turns) {
        (_, Some(turns)) if offer.standing.is_down => format!("turned {}", turns.up).into(),
        (_, Some(_)) => "go on with it".into(),
        (Act::Begin, _) => "begin".into(),
        (Act::Again, _) => "begin again".into(),
        (Act::Close | Act::Nothing, _) => "go on".into(),
        (Act::Confirm | Act::Turn { .. } | Act::Wait { .. } | Act::GiveUp(_) | Act::Answer(_), _) => {
            "it is done".into()
        }
    }
}

/// The keys of the answers there are.
fn answer_keys(acting: &Acting, tick: Tick) -> String {
    let Some((_, reading)) = acting.reading(tick) else { return String::new() };
    let ReadingKind::Choice(choices) = &acting.model.run.edition().reading(reading).kind else { return String::new() };
    choices.iter().map(|choice| choice.key.to_string()).collect::<Vec<_>>().join(" / ")
}

/// Whether words are written down now.
fn is_written_down(model: &PracticeModel) -> bool {
    model.acting.as_ref().is_some_and(|acting| matches!(acting.model.entry, Entry::Words(_)))
}

/// Whether something is read now.
fn is_reading(model: &PracticeModel, now: Tick) -> bool {
    model.acting.as_ref().is_some_and(|acting| acting.reading(model.clock.tick(now)).is_some())
}

fn capital(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().into_iter().flat_map(char::to_uppercase).chain(signs).collect()
}

fn draw_over(model: &PracticeModel, over: &Over, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let mut column = Column::new(buf, area);
    match over {
        Over::Help(from) => {
            let mut rows: Vec<(&str, String)> = Vec::new();
            for (keys, does) in help_lines() {
                let mut keys = keys;
                for part in lines(does, area.width.saturating_sub(HELP_KEYS_WIDE)) {
                    rows.push((keys, part.to_owned()));
                    keys = "";
                }
                if does.is_empty() {
                    rows.push(("", String::new()));
                }
            }
            let from = (*from).min(rows.len().saturating_sub(usize::from(column.area.height)));
            for (keys, does) in rows.iter().skip(from) {
                let row = Rect { height: column.area.height.min(1), ..column.area };
                line(column.buf, row, keys, theme.strong);
                let rest = Rect { x: row.x + HELP_KEYS_WIDE, width: row.width.saturating_sub(HELP_KEYS_WIDE), ..row };
                line(column.buf, rest, does, theme.plain);
                column.skip(1);
            }
        }
        Over::Leave => {
            column.line(" LEAVE? ", theme.chosen);
            column.skip(1);
            let text = if model.is_trial() {
                "The timed run is broken off and counts as such. Everything tried so far is kept."
            } else {
                "Everything tried so far is kept; what is left comes another day."
            };
            column.block("", theme.plain, text, theme.plain);
            column.skip(1);
            column.block("Y ", theme.key, " leave", theme.plain);
            column.block("N ", theme.key, " go on", theme.plain);
        }
        Over::Folder(field) => {
            column.line(" ANOTHER FOLDER FOR THE DIARY ", theme.chosen);
            column.skip(1);
            column.line(&format!("▸ {}█", field.text), theme.number);
            column.skip(1);
            column.block(
                "",
                theme.plain,
                "Enter takes it; an empty line tries the same folder again. Esc: back.",
                theme.plain,
            );
        }
    }
}

/// Where there is little room: what is asked, and what is typed.
fn essential(model: &PracticeModel, now: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    match model.session.due() {
        Due::Tell(tell) => column.block("", theme.strong, &tell.text, theme.strong),
        Due::Ask(question) => draw_ask(model, question, column),
        Due::Explain(explained) => draw_explain(model, explained, column),
        Due::Perform(perform) => {
            let Some(acting) = &model.acting else { return };
            let tick = model.clock.tick(now);
            to_do(model, acting, perform, tick, column);
            typed(model, acting, perform, tick, column);
            column.block("", theme.warn, "The instrument needs at least 60 columns and 16 rows.", theme.quiet);
        }
        Due::TrialAhead(ahead) => draw_ahead(model, ahead, column),
        Due::Finished(summary) => {
            for (mark, text) in summary_lines(model, summary) {
                column.block(mark, theme.plain, &text, theme.plain);
            }
        }
    }
}
