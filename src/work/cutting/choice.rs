//! Which piece is cut next, where the person has another order in mind.

use crate::work::act::{Reply, Touched};
use crate::work::bench::Bench;
use crate::work::op::{Id, Op};

impl Bench {
    /// Another piece is to be cut next.
    pub(in crate::work) fn cut_next(&mut self, id: Id) -> Reply {
        if !self.state.is_to_cut(id) {
            return Reply::refused("that piece is cut already, or does not lie on the table");
        }
        self.cut_first(vec![id])
    }

    /// This piece is cut last of its sheet: the one after it is cut next.
    pub(in crate::work) fn cut_later(&mut self, id: Id) -> Reply {
        let order = self.doing.cutting().map(|c| &c.order[..]);
        let mut all = order.unwrap_or_default().to_vec();
        if !all.contains(&id) || all.len() < 2 {
            return Reply::refused("there is no other piece to cut on this sheet");
        }
        all.retain(|k| *k != id);
        all.push(id);
        self.cut_first(all)
    }

    /// These are cut first, in this order, and then what was wanted before.
    fn cut_first(&mut self, mut to: Vec<Id>) -> Reply {
        let from = self.state.cuts.first.clone();
        let rest = from.iter().copied();
        let rest = rest.filter(|k| !to.contains(k) && self.state.is_to_cut(*k));
        let rest: Vec<Id> = rest.collect();
        to.extend(rest);
        self.does(vec![Op::First { from, to }]);
        if self.doing.cutting().is_some() {
            self.go_to_next();
        }
        Reply::touching(Touched::All)
    }
}
