//! What a hand does, and what comes of it.

use super::cutting::Item;
use super::offering::{Finding, Seek};
use super::op::{Id, Op};
use super::signals::{Signal, Told};
use super::trims::CutStrip;
use super::ways::Way;
use crate::cloth::Stack;
use crate::colour::Tint;
use crate::lay::wish::Wished;
use crate::space::{Point, Table};
use crate::stand::{Hand, Side};

/// One thing a person does, from keys, mouse or panel.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// The pointer of light is here now.
    Point(Point<Table>),
    /// The pointer is no longer on the table.
    Away,
    /// The pointer's button goes down, and up.
    Press,
    Release,
    /// Turns the piece in hand, degrees counter-clockwise.
    Turn(f64),
    /// Moves the piece in hand, mm as the person sees it.
    Nudge {
        right: f64,
        away: f64,
    },
    /// The next and the previous piece is in hand.
    Next,
    Previous,
    /// This piece is in hand.
    Hold(Id),
    /// Nothing is in hand.
    LetGo,
    /// Squares the grain to the warp; to the bias.
    Square,
    Bias,
    TurnOver,
    /// Another of the piece in hand; its partner, mirrored; its partner at the
    /// mirrored place of the mirrored panel.
    Another,
    Partner,
    PartnerAcross,
    TakeAway,
    Lock,
    /// Whether pieces of one article move together.
    Together(bool),
    /// Lays one more of an article's part under the pointer.
    Lay {
        article: String,
        piece: String,
        panel: String,
    },
    /// A place is sought, to be offered.
    Seek(Seek),
    /// What is cut by length is laid along a ruler of light.
    Lengths,
    /// What a search says, by the number it was given.
    Found {
        number: u64,
        found: Box<Finding>,
    },
    /// A wish for places, by its place in the list: a new one, another, or none any more.
    Wish {
        at: usize,
        to: Option<Box<Wished>>,
    },
    /// What a photo tells is taken over.
    Noted(Vec<Op>),
    Undo,
    Redo,
    Way(Way),
    /// Percent; out of reach is taken as the nearest that can be had.
    WorkLight(u8),
    Brightness(u8),
    /// mm.
    Band(f64),
    Waste(bool),
    Colour(Tint),
    /// A strip of light was cut out of a scrap and measured.
    CutStrip(Box<CutStrip>),
    /// A trim, by its place in the list, is on, is off; is forgotten.
    Trim {
        at: usize,
        on: bool,
    },
    DropTrim(usize),
    /// The projector was refocused: that rescales its picture.
    Refocused,
    /// The table's bare marks keep a ring of light.
    Watch(bool),
    /// Bands are dashes that creep along them.
    Creep(bool),
    Stand(Side),
    Cut(Hand),
    /// Begins something, on a panel where one is meant.
    Begin(Task),
    /// What is being done is done; is left off.
    Finish,
    Leave,
    /// The last point is taken back.
    BackUp,
    /// Passes over the mark that is asked for: it can't be found any more.
    PassOver,
    /// Over to cutting; and a signal while cutting.
    BeginCutting,
    Signal(Told),
    /// This piece is cut next; is cut last of its sheet.
    CutNext(Id),
    CutLater(Id),
    /// From the list that held back opens, by the panel or a key.
    Take(Item),
    /// The switch for a signal shall be taught; is this one.
    Teach(Signal),
    Taught(String),
    Spread {
        panel: String,
        spread: bool,
    },
    Under {
        panel: String,
        top: Option<String>,
    },
    /// A panel is folded, stacked or turned over.
    Stack {
        panel: String,
        stack: Stack,
    },
    DropKeepOut {
        panel: String,
        at: usize,
    },
    DropMark {
        panel: String,
        at: usize,
    },
    /// A keep-out's or a mark's new name.
    NameKeepOut {
        panel: String,
        at: usize,
        name: String,
    },
    NameMark {
        panel: String,
        at: usize,
        name: String,
    },
}

/// What can be begun.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Task {
    /// Draw the outline of the cloth; a place to keep out of.
    Outline(String),
    KeepOut(String),
    /// Give the cloth its marks.
    Marks(String),
    /// The cloth has moved: point at its marks where they are now.
    Moved(String),
    /// Two points along the warp.
    Warp(String),
    /// Two points along the edge of a mat: the piece in hand is squared to it.
    Edge,
    /// A tape of light between two points.
    Tape,
    /// A strip of sample guides at rising strength.
    Samples,
    /// The strip of the cut test.
    Strip,
    /// Does the light still fall on the table's marks?
    Check,
}

/// What must be drawn anew after an act.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Touched {
    #[default]
    Nothing,
    /// Only what lies over the lay: pointer, marks, words.
    Over,
    /// These pieces have moved or changed their brightness.
    Pieces(Vec<Id>),
    /// Everything.
    All,
}

impl Touched {
    /// Both together.
    #[must_use]
    pub fn and(self, other: Touched) -> Touched {
        use Touched::{All, Nothing, Over, Pieces};
        match (self, other) {
            (Nothing, t) | (t, Nothing) => t,
            (All, _) | (_, All) => All,
            (Pieces(mut a), Pieces(b)) => {
                a.extend(b);
                a.sort_unstable();
                a.dedup();
                Pieces(a)
            }
            (Pieces(a), Over) | (Over, Pieces(a)) => Pieces(a),
            (Over, Over) => Over,
        }
    }
}

/// What comes of an act.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reply {
    pub touched: Touched,
    /// A sentence for the light and the panel.
    pub said: Option<Said>,
}

/// A sentence, and whether it refuses or warns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    pub words: String,
    pub warning: bool,
}

impl Reply {
    pub(super) fn touching(touched: Touched) -> Self {
        Self {
            touched,
            said: None,
        }
    }

    pub(super) fn refused(words: impl Into<String>) -> Self {
        Self {
            touched: Touched::Over,
            said: Some(Said {
                words: words.into(),
                warning: true,
            }),
        }
    }

    pub(super) fn saying(mut self, words: impl Into<String>) -> Self {
        self.said = Some(Said {
            words: words.into(),
            warning: false,
        });
        self
    }
}
