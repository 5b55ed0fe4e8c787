//! Appointments: what is due long after the run.
//!
//! **Invariant:** every appointment counts from a step of the procedure, lies after it, and has a source.

use super::fields::{Fields, Reader};
use super::scope::Given;
use super::tree::Node;
use crate::expr::Want;
use crate::model::Appointment;

impl Reader<'_> {
    /// All `[[appointment]]`.
    pub fn appointments(&mut self, root: &Fields) -> Vec<Option<Appointment>> {
        let mut ids = Vec::new();
        let nodes = self.listed_tables(root, "appointment", "appointment");
        nodes.iter().map(|node| self.appointment(node, &mut ids)).collect()
    }

    fn appointment(&mut self, node: &Node, ids: &mut Vec<Given<()>>) -> Option<Appointment> {
        const KEYS: &[&str] = &["id", "title", "from", "after", "give_or_take", "when", "count", "source"];
        let fields = self.fields(node, "an appointment", KEYS)?;
        let (id, fields) = self.identified(fields, "appointment", ids);
        let title = self.need_text(&fields, "title", "title = \"Break {n_7} at 7 days\"");
        let from = fields.need(self, "from", "from = \"moulded\"").and_then(|node| self.step_named(node, "from"));
        let after = fields.need(self, "after", "after = \"7 d\"").and_then(|node| self.span(node, "after"));
        let give_or_take = fields.get("give_or_take").map(|node| self.span(node, "give_or_take"));
        let n_values = self.scope.values.len();
        let when = fields.get("when").map(|node| self.expression(node, "when", Want::Truth, n_values));
        let count = fields.get("count").map(|node| self.counted_by(node, "count"));
        let cites = self.need_cites(&fields, "source");
        Some(Appointment {
            id: id?,
            title: title?,
            from: from?.0,
            after: after?,
            give_or_take: match give_or_take {
                Some(span) => Some(span?),
                None => None,
            },
            when: match when {
                Some(when) => Some(when?.expr),
                None => None,
            },
            count: match count {
                Some(count) => Some(count?),
                None => None,
            },
            cites,
        })
    }
}
