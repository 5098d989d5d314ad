//! Wiring: a job as it stands to the papers that go with it.

use crate::fault::Outcome;
use crate::job::Job;
use crate::lay::{Placement, Stock, sheets};
use crate::look::Shaded;
use crate::measure::Unit;
use crate::sheet::{Page, Paper};
use crate::ticket::{Ticket, cut_list, ticket_pages, tickets};
use crate::work::State;

/// What papers are written from.
#[derive(Debug)]
pub struct Papers<'a> {
    pub tickets: Vec<Ticket<'a>>,
    /// The sheets in the order in which they are cut, a sentence each.
    pub plan: Vec<String>,
    job: &'a str,
}

impl<'a> Papers<'a> {
    /// # Errors
    /// If something that is cut by length can't be worked out.
    pub fn of(job: &'a Job, stock: &Stock<'a>, state: &State, shaded: &Shaded) -> Outcome<Self> {
        let placed: Vec<&Placement> = state.placed.values().collect();
        let cut = &state.cuts.parts;
        let plan = sheets(stock, &state.panels, &placed, cut);
        let name = job.file.name.as_str();
        Ok(Self {
            tickets: tickets(
                name,
                stock,
                cut,
                &job.tapes()?,
                &shaded.by_part(&state.panels),
            ),
            plan: plan.iter().map(|s| s.words()).collect(),
            job: name,
        })
    }

    /// A ticket for every article, several a sheet.
    pub fn ticket_pages(&self, paper: Paper, unit: Unit) -> Vec<Page> {
        ticket_pages(&self.tickets, paper, unit)
    }

    /// The list of all that is cut.
    pub fn cut_list(&self, paper: Paper, unit: Unit) -> Vec<Page> {
        cut_list(self.job, &self.tickets, &self.plan, paper, unit)
    }
}
