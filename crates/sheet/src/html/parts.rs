//! The parts of the page.

use std::fmt::Write as _;

use crate::markup::escape;
use crate::words::{self, Tone, shown};
use crate::{Purpose, Sheet, moment};

fn class(tone: Tone) -> &'static str {
    match tone {
        Tone::Good => "good",
        Tone::Alarm => "alarm",
        Tone::Plain => "plain",
    }
}

/// A verdict in words, shape and colour.
fn verdict(words: &str, tone: Tone) -> String {
    format!("<span class=\"verdict {}\">{}</span>", class(tone), escape(words))
}

/// Small words beside what they belong to; nothing if there are none.
fn beside(words: &str) -> String {
    if words.is_empty() { String::new() } else { format!(" <span class=\"small\">{}</span>", escape(words)) }
}

fn open(out: &mut String, class: &str, title: &str) {
    let _ = writeln!(out, "<section class=\"{class}\">\n<h2>{title}</h2>");
}

/// The head of a table; columns whose name begins with `>` are at the right.
fn columns(out: &mut String, names: &[&str]) {
    out.push_str("<table>\n<thead><tr>");
    for name in names {
        let _ = match name.strip_prefix('>') {
            Some(name) => write!(out, "<th scope=\"col\" class=\"number\">{name}</th>"),
            None => write!(out, "<th scope=\"col\">{name}</th>"),
        };
    }
    out.push_str("</tr></thead>\n<tbody>\n");
}

pub(super) fn head(out: &mut String, sheet: &Sheet) {
    let head = &sheet.head;
    let sample =
        if head.sample.is_empty() { "Sample without a name".to_owned() } else { format!("Sample {}", head.sample) };
    let place = words::joined(" · ", &[&head.project, &head.location]);
    let _ = writeln!(
        out,
        "<header class=\"head\">\n<div><p class=\"kind\">{}</p>\n<h1>{}</h1>\n<p class=\"place\">{}</p></div>",
        escape(&head.title),
        escape(&sample),
        escape(&place)
    );
    let purpose = match head.purpose {
        Purpose::Acceptance => "kind",
        Purpose::Preliminary | Purpose::Practice => "flag",
    };
    // The flag says what it is; why stands under the day.
    let why = match (head.purpose, &head.simulated) {
        (Purpose::Practice, Some(notice)) => format!("<p class=\"why\">{}</p>\n", escape(notice)),
        _ => String::new(),
    };
    let times = words::joined(
        " · ",
        &[&words::joined(" ", &["local time", &moment::offset_words(&head.offset)]), head.system.words()],
    );
    let _ = writeln!(
        out,
        "<div><p class=\"{purpose}\">{}</p>\n<p class=\"day\">{}</p>\n{why}<p class=\"small\">{}</p></div>\n</header>",
        escape(head.purpose.words()),
        escape(&words::day_words(sheet)),
        escape(&times)
    );
    if let Some(notice) = head.simulated.as_ref().filter(|_| head.purpose != Purpose::Practice) {
        let _ = writeln!(out, "<p class=\"notice\">{}</p>", escape(notice));
    }
    let truck = if head.truck.is_empty() { String::new() } else { format!("truck {}", head.truck) };
    let ticket = if head.ticket.is_empty() { String::new() } else { format!("ticket {}", head.ticket) };
    let delivered = words::joined(", ", &[&truck, &ticket]);
    out.push_str("<dl class=\"facts\">\n");
    for (name, value) in [
        ("Mixture", &head.mixture),
        ("Delivered by", &delivered),
        ("Tested by", &head.technician.name),
        ("Certificate", &words::certificate(sheet)),
    ] {
        let value = if value.is_empty() { "<span class=\"quiet\">not told</span>".to_owned() } else { escape(value) };
        let _ = writeln!(out, "<div><dt>{name}</dt><dd>{value}</dd></div>");
    }
    out.push_str("</dl>\n<ul class=\"summary\">\n");
    for line in words::headlines(sheet) {
        let (class, figure, words) = (class(line.tone), escape(&line.figure), escape(&line.words));
        let _ = writeln!(out, "<li><span class=\"figure {class}\">{figure}</span> {words}</li>");
    }
    out.push_str("</ul>\n");
}

pub(super) fn results(out: &mut String, sheet: &Sheet) {
    if sheet.results.is_empty() {
        return;
    }
    open(out, "results", "Results");
    columns(out, &["Result", ">Value", "", "Unrounded", "Limit as specified", "Verdict"]);
    let mut before = None;
    for result in &sheet.results {
        let group = (&result.run, &result.test, &result.basis);
        let source = if before == Some(group) { "" } else { result.source_words() };
        before = Some(group);
        let name = if result.name.is_empty() { &result.test } else { &result.name };
        let (value, unit) = result.value_words();
        let limit = match &result.limit {
            Some(limit) => format!("<span class=\"lead\">{}</span>", escape(limit)),
            None => "<span class=\"quiet\">none</span>".to_owned(),
        };
        let workings = result.workings();
        let class = if workings.is_empty() { "" } else { " class=\"goes-on\"" };
        let _ = writeln!(
            out,
            "<tr{class}><td><strong class=\"lead\">{}</strong>{}</td><td class=\"value\">{}</td><td>{}</td>\
             <td class=\"small\">{}</td><td>{limit}{}</td><td>{}</td></tr>",
            escape(name),
            beside(source),
            escape(&value),
            escape(unit),
            escape(&result.unrounded()),
            beside(&result.limit_source),
            verdict(result.verdict_words(), result.tone()),
        );
        if !workings.is_empty() {
            // How it was found stands under it, as wide as it needs.
            let _ = writeln!(
                out,
                "<tr class=\"workings\"><td colspan=\"6\" class=\"small\">{}</td></tr>",
                escape(&workings)
            );
        }
    }
    out.push_str("</tbody></table>\n</section>\n");
}

pub(super) fn windows(out: &mut String, sheet: &Sheet) {
    if sheet.windows.is_empty() {
        return;
    }
    open(out, "windows", "Time limits");
    columns(out, &["Test", "Limit", "Clock", ">Allowed", ">Took", "Verdict"]);
    for window in &sheet.windows {
        let _ = writeln!(
            out,
            "<tr><td><strong>{}</strong></td><td><span class=\"lead\">{}</span>{}</td><td>{}</td><td class=\"number\">{}</td>\
             <td class=\"number\">{}</td><td>{}</td></tr>",
            escape(&words::test_words(&window.test)),
            escape(&window.name),
            beside(&window.between()),
            escape(&window.clock(sheet)),
            escape(&window.allowed_words()),
            escape(&window.took_words()),
            verdict(&window.verdict.words(), window.verdict.tone())
        );
    }
    out.push_str("</tbody></table>\n</section>\n");
}

pub(super) fn happenings(out: &mut String, sheet: &Sheet) {
    let all = words::happenings(sheet);
    if all.is_empty() {
        return;
    }
    open(out, "happened", "Discarded, found, overruled, corrected");
    out.push_str("<table>\n<tbody>\n");
    for happening in &all {
        let _ = writeln!(
            out,
            "<tr><td>{}</td><td><strong>{}</strong></td><td>{}</td><td>{}</td></tr>",
            escape(&words::at(sheet, &happening.at)),
            happening.kind,
            escape(&happening.test),
            escape(&happening.words)
        );
    }
    out.push_str("</tbody></table>\n</section>\n");
}

/// Specimens and apparatus side by side, delivery and weather under the shorter of them; then what is due.
pub(super) fn around(out: &mut String, sheet: &Sheet) {
    let (mut left, mut right) = (String::new(), String::new());
    specimens(&mut left, sheet);
    apparatus(&mut right, sheet);
    if sheet.delivery.judged.is_empty() && 4 * sheet.specimens.len() > sheet.apparatus.len() {
        delivery(&mut right, sheet);
    } else {
        delivery(&mut left, sheet);
    }
    if !sheet.delivery.judged.is_empty() {
        weather(&mut right, sheet);
    }
    match (left.is_empty(), right.is_empty()) {
        (true, true) => {}
        (false, false) => {
            let _ = writeln!(out, "<div class=\"pair\">\n<div>\n{left}</div>\n<div>\n{right}</div>\n</div>");
        }
        _ => {
            let _ = writeln!(out, "<div class=\"pair alone\">\n<div>\n{left}{right}</div>\n</div>");
        }
    }
    due(out, sheet);
}

fn specimens(out: &mut String, sheet: &Sheet) {
    if sheet.specimens.is_empty() {
        return;
    }
    open(out, "specimens", "Specimens");
    for set in &sheet.specimens {
        let _ = writeln!(
            out,
            "<div class=\"set\"><p><strong class=\"lead\">{}</strong> {}</p>\n<p class=\"flowing\">",
            escape(&words::set_words(set)),
            escape(&words::labels(&set.labels))
        );
        for (name, value) in words::set_facts(sheet, set) {
            let _ = write!(out, "<span><span>{name}</span> {}</span> ", escape(&value));
        }
        out.push_str("</p></div>\n");
    }
    out.push_str("</section>\n");
}

fn due(out: &mut String, sheet: &Sheet) {
    if sheet.appointments.is_empty() {
        return;
    }
    open(out, "due", "Due later");
    out.push_str("<table>\n<colgroup><col><col><col></colgroup>\n<tbody>\n");
    for appointment in &sheet.appointments {
        let pieces = words::pieces(appointment);
        // What is about no specimen of its own has their column as well.
        let (span, pieces) = if pieces.is_empty() {
            (" colspan=\"2\"", String::new())
        } else {
            ("", format!("<td class=\"small\">{}</td>", escape(&pieces)))
        };
        let _ = writeln!(
            out,
            "<tr><td><strong>{}</strong></td><td{span}>{}</td>{pieces}</tr>",
            escape(&words::due(sheet, appointment)),
            escape(&appointment.title),
        );
    }
    out.push_str("</tbody></table>\n</section>\n");
}

/// Names and values one after the other.
fn flowing(out: &mut String, pairs: &[(String, String)]) {
    if pairs.is_empty() {
        return;
    }
    out.push_str("<p class=\"flowing\">");
    for (name, value) in pairs {
        let _ = write!(out, "<span><span>{}</span> {}</span> ", escape(name), escape(value));
    }
    out.push_str("</p>\n");
}

/// The ticket; the weather under the same heading where nothing is judged.
fn delivery(out: &mut String, sheet: &Sheet) {
    let told = words::delivery(sheet);
    let judged = &sheet.delivery.judged;
    if judged.is_empty() && told.is_empty() {
        return weather(out, sheet);
    }
    let with_weather = judged.is_empty() && has_weather(sheet);
    open(out, "delivery", if with_weather { "Delivery and weather" } else { "Delivery" });
    if with_weather {
        flowing(out, &[told, air(sheet)].concat());
        caution(out, sheet);
    } else {
        flowing(out, &told);
    }
    if !judged.is_empty() {
        out.push_str("<table>\n<tbody>\n");
        for judged in judged {
            let _ = writeln!(
                out,
                "<tr><td class=\"quiet\">{}</td><td><strong class=\"lead\">{}</strong>{}</td><td>{}</td></tr>",
                escape(&judged.name),
                escape(&shown(&judged.value)),
                beside(&judged.limit_words()),
                verdict(judged.verdict.words(), judged.verdict.tone())
            );
        }
        out.push_str("</tbody></table>\n");
    }
    out.push_str("</section>\n");
}

fn air(sheet: &Sheet) -> Vec<(String, String)> {
    words::weather(sheet).into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

fn has_weather(sheet: &Sheet) -> bool {
    !words::weather(sheet).is_empty() || !sheet.weather.caution.is_empty()
}

fn caution(out: &mut String, sheet: &Sheet) {
    if !sheet.weather.caution.is_empty() {
        let _ = writeln!(out, "<p class=\"caution\">{}</p>", escape(&sheet.weather.caution));
    }
}

fn weather(out: &mut String, sheet: &Sheet) {
    if !has_weather(sheet) {
        return;
    }
    open(out, "weather", "Weather");
    flowing(out, &air(sheet));
    caution(out, sheet);
    out.push_str("</section>\n");
}

fn apparatus(out: &mut String, sheet: &Sheet) {
    if sheet.apparatus.is_empty() {
        return;
    }
    open(out, "apparatus", "Apparatus");
    out.push_str("<table>\n<tbody>\n");
    for piece in &sheet.apparatus {
        let _ = writeln!(
            out,
            "<tr><td>{}</td><td><span class=\"verdict standing {}\">{}</span></td></tr>",
            escape(&words::joined(" ", &[&piece.kind, &piece.id])),
            class(piece.standing.tone()),
            escape(&words::standing(piece))
        );
    }
    out.push_str("</tbody></table>\n</section>\n");
}

pub(super) fn tail(out: &mut String, sheet: &Sheet) {
    out.push_str("<div class=\"sign\">");
    for name in ["Technician, signature", "Date", "Reviewer, signature", "Date"] {
        let _ = write!(out, "<span>{name}</span>");
    }
    out.push_str("</div>\n<footer>\n");
    let mut notices = vec![words::UNSIGNED];
    notices.extend(sheet.head.notices.iter().map(String::as_str));
    // How the records are kept comes last: what it says stands below it.
    notices.push(&sheet.record.kept);
    let _ = writeln!(out, "<p>{}</p>", escape(&words::joined(" ", &notices)));
    let record = &sheet.record;
    if !record.runs.is_empty() {
        out.push_str("<ul class=\"runs\">");
        for run in &record.runs {
            let _ = write!(out, "<li>{} {}</li>", escape(&run.name), escape(&run.checksum));
        }
        out.push_str("</ul>\n");
    }
    let made = words::joined(" ", &[&sheet.head.tool, &sheet.head.version]);
    if !made.is_empty() {
        let _ = writeln!(out, "<p>{}</p>", escape(&made));
    }
    out.push_str("</footer>\n");
}
