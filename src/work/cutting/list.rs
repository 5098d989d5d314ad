//! The short list that held *back* opens: *go on* steps, *back* takes.

use super::{Of, Phase};

/// What can be taken from the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Item {
    LayBack,
    Spoilt,
    Moved,
    Check,
    /// The marks of this part are not transferred.
    Waive,
    NotchByNotch,
    /// The part in the light is spoilt.
    ThisSpoilt,
    /// A notch where the pointer is, from the next time on.
    NotchNextTime,
    /// The edges of what is laid back, each with those it may be sewn to.
    Walk,
    /// The outlines of what is cut, shown or not.
    Outlines,
    Close,
}

impl Item {
    /// What the list holds, as things are.
    pub fn of(phase: &Phase) -> Vec<Item> {
        use Item::{
            Check, Close, LayBack, Moved, NotchByNotch, NotchNextTime, Outlines, Spoilt,
            ThisSpoilt, Waive, Walk,
        };
        let of = match phase {
            Phase::LaidBack { of, .. } => of,
            Phase::Notches {
                of: Of::Part(_), ..
            }
            | Phase::Walk { .. } => return vec![NotchNextTime, Close],
            Phase::Marks { .. } => return vec![LayBack, Spoilt, Moved, Check, Waive, Close],
            Phase::Piece { .. } => {
                return vec![LayBack, Spoilt, Moved, Check, NotchByNotch, Outlines, Close];
            }
            _ => return vec![LayBack, Spoilt, Moved, Check, Outlines, Close],
        };
        match of {
            Of::Part(_) => vec![NotchNextTime, NotchByNotch, Walk, ThisSpoilt, Close],
            Of::Piece(_) => vec![NotchNextTime, Walk, Close],
        }
    }

    pub fn words(self) -> &'static str {
        match self {
            Item::LayBack => "lay a part back",
            Item::Spoilt => "a part is spoilt",
            Item::Moved => "the cloth has moved",
            Item::Check => "check the light",
            Item::Waive => "do without the marks",
            Item::NotchByNotch => "notch by notch",
            Item::ThisSpoilt => "this part is spoilt",
            Item::Walk => "walk its edges",
            Item::NotchNextTime => "a notch here next time",
            Item::Outlines => "outlines of what is cut",
            Item::Close => "go on cutting",
        }
    }
}
