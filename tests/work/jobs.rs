//! Two jobs to work on: the demo with a second article, and a small one with
//! a left and a right panel and a second ply.

use ghostchalk::cloth::{Cloth, ClothMark, OnTable, Panel};
use ghostchalk::job::Job;
use ghostchalk::lay::{Face, Placement};
use ghostchalk::order::{Article, Part};
use ghostchalk::pattern::PatternPiece;
use ghostchalk::shape::Region;
use ghostchalk::space::{Piece, Point, Rigid, Table};
use ghostchalk::work::{Act, Bench, Goods, History, Id, Reply, State, Ways};
use std::path::Path;

/// The demo, and the same slippers once more as article 2.
pub fn demo() -> Bench {
    let job = Job::open(Path::new("demo-data")).unwrap();
    let mut articles = job.file.articles.clone();
    articles.push(Article {
        name: "2".into(),
        ..articles[0].clone()
    });
    let goods = Goods {
        pieces: job.pieces,
        cloths: job.file.cloths,
        articles,
    };
    let state = State::new(job.file.panels, job.file.placed, Ways::default());
    lit(Bench::new(goods, state, History::default()))
}

/// The marks of the table, mm.
pub const MARKS: [[f64; 2]; 4] = [[10.0, 12.0], [1190.0, 10.0], [1185.0, 790.0], [15.0, 788.0]];

/// A bench under a light of 1200 by 800 mm.
pub fn lit(mut bench: Bench) -> Bench {
    let corners = [(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)];
    let top = Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec());
    bench.set_reach(top.clone());
    bench.set_table_top(top);
    bench.set_band(3.0);
    bench.set_table_marks(MARKS.map(Point::from).to_vec());
    bench
}

/// A left and a right half of one old coat, and a lining to go under.
///
/// | panel | cloth | lies at | turned |
/// | --- | --- | --- | --- |
/// | left | canvas | 50, 50 | 3° |
/// | right | canvas | 640, 90 | −4° |
/// | lining | flannel | 100, 480 | 0° |
///
/// The right panel is the left one mirrored at x = 250 of its cloth space. Per
/// article: four tongues as pairs and two straps in canvas, two tongues (not
/// as a pair) in flannel.
pub fn coat() -> Bench {
    let mut tongue = PatternPiece::named("tongue");
    // No side like another, so that a mirrored one shows.
    tongue.cut = vec![ring(&[
        (-40.0, -30.0),
        (40.0, -30.0),
        (25.0, 30.0),
        (-40.0, 10.0),
    ])];
    tongue.grain = Some([Point::new(0.0, -20.0), Point::new(0.0, 20.0)]);
    let mut strap = PatternPiece::named("strap");
    strap.cut = vec![ring(&[
        (-60.0, -8.0),
        (60.0, -8.0),
        (60.0, 8.0),
        (-60.0, 8.0),
    ])];
    let part = |piece: &str, cloth: &str, count, pair| Part {
        piece: piece.into(),
        cloth: cloth.into(),
        count,
        pair,
        inside: None,
    };
    let article = |name: &str| Article {
        name: name.into(),
        parts: vec![
            part("tongue", "canvas", 4, true),
            part("strap", "canvas", 2, false),
            part("tongue", "flannel", 2, false),
        ],
        ..Article::default()
    };
    let cloth = |name: &str, thickness_mm| Cloth {
        name: name.into(),
        thickness_mm,
        no_face: false,
    };
    let goods = Goods {
        pieces: vec![tongue, strap],
        cloths: vec![cloth("canvas", 0.8), cloth("flannel", 0.9)],
        articles: vec![article("1"), article("2")],
    };
    let outline = [[0.0, 0.0], [500.0, 20.0], [460.0, 400.0], [30.0, 380.0]];
    let marks = [("A", 40.0, 40.0), ("B", 440.0, 60.0), ("C", 60.0, 350.0)];
    let left = panel("left", "canvas", outline.to_vec(), (50.0, 50.0, 3.0));
    let left = with_marks(left, marks.to_vec());
    let over = |[x, y]: [f64; 2]| [500.0 - x, y];
    let mirrored = outline.iter().rev().map(|&c| over(c)).collect();
    let right = panel("right", "canvas", mirrored, (640.0, 90.0, -4.0));
    let right = with_marks(right, marks.map(|(n, x, y)| (n, 500.0 - x, y)).to_vec());
    let lining = vec![[0.0, 0.0], [450.0, 0.0], [450.0, 250.0], [0.0, 250.0]];
    let lining = panel("lining", "flannel", lining, (100.0, 480.0, 0.0));
    let placed = [
        placed("tongue", "1", "left", (100.0, 120.0, 10.0), Face::Up),
        placed("strap", "1", "left", (250.0, 250.0, 0.0), Face::Up),
        placed("tongue", "2", "left", (330.0, 120.0, 0.0), Face::Up),
        placed("tongue", "1", "lining", (100.0, 120.0, 0.0), Face::Up),
    ];
    let state = State::new(vec![left, right, lining], placed, Ways::default());
    lit(Bench::new(goods, state, History::default()))
}

/// The coat's right half slipped under the left one, of the same outline; a place of the
/// upper ply is 10 mm further to the left and 15 mm further up in the lower one's space.
pub fn coat_in_plies() -> Bench {
    let bench = coat();
    let mut state = bench.state().clone();
    let [left, right, ..] = &mut state.panels[..] else {
        unreachable!("the coat has three panels");
    };
    left.on_table = at(50.0, 50.0);
    right.on_table = at(60.0, 35.0);
    right.outline_mm.clone_from(&left.outline_mm);
    right.under = Some("left".into());
    lit(Bench::new(bench.goods.clone(), state, History::default()))
}

fn at(x_mm: f64, y_mm: f64) -> OnTable {
    OnTable {
        x_mm,
        y_mm,
        turn_deg: 0.0,
    }
}

/// The pieces of [`coat`] by their numbers: given in order.
pub const TONGUE: Id = 1;
pub const STRAP: Id = 2;
pub const TONGUE_OF_2: Id = 3;
pub const TONGUE_IN_LINING: Id = 4;

fn ring(corners: &[(f64, f64)]) -> Vec<Point<Piece>> {
    corners.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

pub fn panel(
    name: &str,
    cloth: &str,
    outline_mm: Vec<[f64; 2]>,
    (x_mm, y_mm, turn_deg): (f64, f64, f64),
) -> Panel {
    Panel {
        on_table: OnTable {
            x_mm,
            y_mm,
            turn_deg,
        },
        ..Panel::new(name, cloth, outline_mm)
    }
}

fn with_marks(panel: Panel, marks: Vec<(&str, f64, f64)>) -> Panel {
    let mark = |(name, x_mm, y_mm): (&str, f64, f64)| ClothMark {
        name: name.into(),
        x_mm,
        y_mm,
    };
    Panel {
        marks: marks.into_iter().map(mark).collect(),
        ..panel
    }
}

pub fn placed(
    piece: &str,
    article: &str,
    panel: &str,
    (x_mm, y_mm, turn_deg): (f64, f64, f64),
    face: Face,
) -> Placement {
    Placement {
        id: None,
        piece: piece.into(),
        article: article.into(),
        panel: panel.into(),
        x_mm,
        y_mm,
        turn_deg,
        face,
        locked: false,
    }
}

/// A bench and a clock.
pub struct AtTable {
    pub bench: Bench,
    pub now: f64,
}

impl AtTable {
    pub fn new(bench: Bench) -> Self {
        Self { bench, now: 0.0 }
    }

    /// Does something, two seconds after the last: nothing runs together.
    pub fn act(&mut self, act: Act) -> Reply {
        self.now += 2.0;
        self.bench.act(act, self.now)
    }

    /// Does something that must be answered with a warning that says `part`.
    pub fn refused(&mut self, act: Act, part: &str) {
        let before = self.bench.state().clone();
        let said = self.act(act.clone()).said.expect("an answer");
        assert!(
            said.warning && said.words.contains(part),
            "{act:?}: {said:?}"
        );
        assert_eq!(self.bench.state(), &before, "{act:?}");
    }

    /// Does something that must not be refused; what is said of it.
    pub fn done(&mut self, act: Act) -> String {
        let reply = self.act(act.clone());
        let said = reply
            .said
            .map_or((String::new(), false), |s| (s.words, s.warning));
        assert!(!said.1, "{act:?}: {}", said.0);
        said.0
    }

    /// Points at a place and presses there.
    pub fn press(&mut self, at: Point<Table>) -> Reply {
        self.act(Act::Point(at));
        let reply = self.act(Act::Press);
        self.act(Act::Release);
        reply
    }

    pub fn placed(&self, id: Id) -> &Placement {
        &self.bench.state().placed[&id]
    }

    pub fn pose(&self, id: Id) -> Rigid<Piece, Table> {
        self.bench.pose(id).expect("on the table")
    }

    /// Where a piece's middle lies.
    pub fn at(&self, id: Id) -> Point<Table> {
        self.pose(id).shift.to_point()
    }

    /// A place of a panel, on the table.
    pub fn on(&self, panel: &str, x: f64, y: f64) -> Point<Table> {
        let pose = self
            .bench
            .state()
            .panel(panel)
            .expect(panel)
            .on_table
            .pose();
        pose.point(Point::new(x, y))
    }

    /// A piece's cut line on the table.
    pub fn cut(&self, id: Id) -> Vec<Point<Table>> {
        let pose = self.pose(id);
        let stock = self.bench.goods.stock();
        let piece = stock.piece(&self.placed(id).piece).expect("a piece");
        piece.cut[0].iter().map(|&p| pose.point(p)).collect()
    }
}
