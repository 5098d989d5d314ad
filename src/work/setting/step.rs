//! The steps of setting the table, in their order.

/// Where the person is in setting the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Step {
    /// Mount, light, hands and cloth: the first time only.
    Cautions,
    /// Switch off automatic keystone and focus.
    SwitchOff,
    /// One-pixel stripes: does the projector rescale the picture?
    Stripes,
    /// How many bands along the picture's axis: 0 its width, 1 its height.
    Count(usize),
    /// What pairs of lines look like in the bands along that axis.
    Pairs(usize),
    /// The first step near black that is seen.
    Wedge,
    /// One-pixel lines in colours.
    Colours,
    Focus,
    /// Where the person stands, and which hand cuts.
    Stand,
    /// The marks' places, by tape.
    Tape,
    /// How a mark is read in the grid.
    HowToRead,
    /// The four readings.
    Read,
    /// Does the light go over a mirror?
    Mirror,
    /// Fine moves of each mark's cross.
    Fine,
    /// The check picture, and what the tape says of it.
    Check,
    /// What the readings come to.
    Verdict,
    /// More marks, where the light proposes them.
    More,
    /// Where the lens is, by a board.
    Board,
    Done,
}

/// The stages a person counts; steps of one stage share its number.
const STAGES: [(Step, &str); 11] = [
    (Step::SwitchOff, "Before setting"),
    (Step::Stripes, "Are the pixels the projector's own?"),
    (Step::Wedge, "Darkest light that can be seen"),
    (Step::Colours, "Lines in colours"),
    (Step::Focus, "Focus"),
    (Step::Stand, "Where you stand"),
    (Step::Tape, "The four marks by measuring tape"),
    (Step::Read, "The four marks in the light"),
    (Step::Fine, "Fine moves"),
    (Step::Check, "Check with the measuring tape"),
    (Step::Done, "The table is set"),
];

impl Step {
    /// Every step.
    pub const ALL: [Step; 21] = [
        Step::Cautions,
        Step::SwitchOff,
        Step::Stripes,
        Step::Count(0),
        Step::Pairs(0),
        Step::Count(1),
        Step::Pairs(1),
        Step::Wedge,
        Step::Colours,
        Step::Focus,
        Step::Stand,
        Step::Tape,
        Step::HowToRead,
        Step::Read,
        Step::Mirror,
        Step::Fine,
        Step::Check,
        Step::Verdict,
        Step::More,
        Step::Board,
        Step::Done,
    ];

    /// The step whose stage this one belongs to.
    fn stage(self) -> Step {
        match self {
            Step::Count(_) | Step::Pairs(_) => Step::Stripes,
            Step::HowToRead | Step::Mirror => Step::Read,
            Step::Verdict => Step::Check,
            Step::More | Step::Board => Step::Done,
            step => step,
        }
    }

    /// The stage's number, from 1, and how many there are; with or without the
    /// cautions.
    pub fn counted(self, cautions: bool) -> (usize, usize) {
        let before = usize::from(cautions);
        let at = STAGES.iter().position(|(s, _)| *s == self.stage());
        let number = at.map_or(1, |at| at + 1 + before);
        (number, STAGES.len() + before)
    }

    /// What the stage is called.
    pub fn title(self) -> &'static str {
        let stage = STAGES.iter().find(|(s, _)| *s == self.stage());
        stage.map_or("Cautions", |(_, title)| title)
    }

    /// Whether this is only words, on one page of light or more.
    pub(super) fn is_words(self) -> bool {
        matches!(self, Step::Cautions | Step::SwitchOff | Step::HowToRead)
    }
}

/// How far one press of an arrow moves a mark's cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Pace {
    #[default]
    Ten,
    One,
    Tenth,
}

impl Pace {
    /// Coarse first.
    pub const ALL: [Pace; 3] = [Pace::Ten, Pace::One, Pace::Tenth];

    /// In px of the picture.
    pub fn px(self) -> f64 {
        match self {
            Pace::Ten => 10.0,
            Pace::One => 1.0,
            Pace::Tenth => 0.1,
        }
    }

    #[must_use]
    pub fn finer(self) -> Self {
        match self {
            Pace::Ten => Pace::One,
            _ => Pace::Tenth,
        }
    }

    #[must_use]
    pub fn coarser(self) -> Self {
        match self {
            Pace::Tenth => Pace::One,
            _ => Pace::Ten,
        }
    }
}
