//! Which figures are told in short.

/// A figure: what it is called there, and where it is taken from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Short {
    pub words: &'static str,
    pub table: &'static str,
    pub from: Spot,
}

/// Where a figure is found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spot {
    /// Scene, height of the picture, who drew, what: of raw times.
    Time(&'static str, u64, &'static str, &'static str),
    /// How its row begins, and its column.
    Cell(&'static str, &'static str),
}

/// A line each, in the order of the page: words, table, how the row begins, column. Where
/// `times` stands for the table they are raw times of the frames: scene, height of the picture
/// and who drew, then what.
const LINES: &str = "\
light off its line, 20 marks, hand 0.5 px: median, mm | accuracy | 0.5 | median
95 % of places within, mm | accuracy | 0.5 | 95 %
worst place of all tilts and lenses, mm | accuracy | 0.5 | worst
stated, 1 σ, mm | accuracy | 0.5 | stated, 1 σ
places within 1.96 of what is stated, of 100 | accuracy | 0.5 | within 1.96 σ, of 100
one of 200 pieces moving, 1080p: CPU before submit, ms | times | 200, 1080, Vulkan | one moving, clear: CPU before submit
the same until the picture is finished, ms | times | 200, 1080, Vulkan | one moving, clear: wall
whole frame of 200, 1080p, ms | times | 200, 1080, Vulkan | whole frame: wall
by the card's own clock, ms | times | 200, 1080, Vulkan | whole frame: device
on GL, ms | times | 200, 1080, GL | whole frame: wall
tiny-skia, ms | times | 200, 1080, tiny-skia | whole frame, paths kept
resvg, ms | times | 200, 1080, resvg | whole frame, tree kept
vello_cpu, ms | times | 200, 1080, vello_cpu | whole frame, paths kept
vello, ms | times | 200, 1080, vello | whole frame, scene kept
whole frame of 200, 2160p, ms | times | 200, 2160, Vulkan | whole frame: wall
from the hand to the frame, 40 pieces, 1080p, ms | times | live, 1080, Vulkan | 40 pieces, one dragged: hand to frame
cold start to the first frame, ms (slowest) | cold | all together | Vulkan
most memory for it, MB | memory | the demo's frame, 1920x1080 | most memory, MB
exponent, 10 to 2000 pieces: whole frame | growth | exponent, 10 to 2000 | whole frame: wall
one piece moved | growth | exponent, 10 to 2000 | one moved: wall
all light anew | growth | exponent, 10 to 2000 | all light anew
all checks | growth | exponent, 10 to 2000 | all checks
job opened | growth | exponent, 10 to 2000 | job opened
a calibration of 20 marks solved, ms | solve | 20 | all of the fit, ms
a PDF of 160 000 curves read, s | import | PDF, one page | read, s
shade under a moving piece, ms | shade | under a piece of 250 | ms
a place sought among twenty pieces, ms | place | fade, even, stripe | best ms
*shirts* after 60 s of the processor, density, % | fit | shirts | 60 s
photo of 12 MP to the table from above, s (of all cores' work) | photo | 12 MP | read and from above
";

/// All that are told in short.
pub fn short() -> impl Iterator<Item = Short> {
    LINES.lines().filter_map(of_line)
}

fn of_line(line: &'static str) -> Option<Short> {
    let cells: Vec<&str> = line.split(" | ").collect();
    let [words, table, row, column] = cells[..] else {
        return None;
    };
    let (table, from) = match table {
        "times" => {
            let of: Vec<&str> = row.splitn(3, ", ").collect();
            let [scene, height, by] = of[..] else {
                return None;
            };
            let height = height.parse().ok()?;
            ("frames", Spot::Time(scene, height, by, column))
        }
        _ => (table, Spot::Cell(row, column)),
    };
    Some(Short { words, table, from })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::TABLES;

    #[test]
    fn every_line_says_where_its_figure_is() {
        for line in LINES.lines() {
            let short = of_line(line).unwrap_or_else(|| panic!("{line}"));
            assert!(TABLES.iter().any(|t| t.key == short.table), "{line}");
        }
        assert_eq!(short().count(), LINES.lines().count());
        let time = of_line("on GL, ms | times | 200, 1080, GL | whole frame: wall").unwrap();
        assert_eq!(time.table, "frames");
        assert_eq!(
            time.from,
            Spot::Time("200", 1080, "GL", "whole frame: wall")
        );
        assert_eq!(of_line("on GL, ms | frames | whole frame: wall"), None);
    }
}
