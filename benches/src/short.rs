//! Which figures are told in short.

/// Where a figure is found.
#[derive(Debug, Clone, Copy)]
pub enum Spot {
    /// Scene, height of the picture, who drew, what: of raw times.
    Time(&'static str, u64, &'static str, &'static str),
    /// How its row begins, and its column.
    Cell(&'static str, &'static str),
}

use Spot::{Cell, Time};

/// What is told in short: words, table, place.
pub const SHORT: [(&str, &str, Spot); 29] = [
    (
        "light off its line, 20 marks, hand 0.5 px: median, mm",
        "accuracy",
        Cell("0.5", "median"),
    ),
    ("95 % of places within, mm", "accuracy", Cell("0.5", "95 %")),
    (
        "worst place of all tilts and lenses, mm",
        "accuracy",
        Cell("0.5", "worst"),
    ),
    ("stated, 1 σ, mm", "accuracy", Cell("0.5", "stated, 1 σ")),
    (
        "places within 1.96 of what is stated, of 100",
        "accuracy",
        Cell("0.5", "within 1.96 σ, of 100"),
    ),
    (
        "one of 200 pieces moving, 1080p: CPU before submit, ms",
        "frames",
        Time(
            "200",
            1080,
            "Vulkan",
            "one moving, clear: CPU before submit",
        ),
    ),
    (
        "the same until the picture is finished, ms",
        "frames",
        Time("200", 1080, "Vulkan", "one moving, clear: wall"),
    ),
    (
        "whole frame of 200, 1080p, ms",
        "frames",
        Time("200", 1080, "Vulkan", "whole frame: wall"),
    ),
    (
        "by the card's own clock, ms",
        "frames",
        Time("200", 1080, "Vulkan", "whole frame: device"),
    ),
    (
        "on GL, ms",
        "frames",
        Time("200", 1080, "GL", "whole frame: wall"),
    ),
    (
        "tiny-skia, ms",
        "frames",
        Time("200", 1080, "tiny-skia", "whole frame, paths kept"),
    ),
    (
        "resvg, ms",
        "frames",
        Time("200", 1080, "resvg", "whole frame, tree kept"),
    ),
    (
        "vello_cpu, ms",
        "frames",
        Time("200", 1080, "vello_cpu", "whole frame, paths kept"),
    ),
    (
        "vello, ms",
        "frames",
        Time("200", 1080, "vello", "whole frame, scene kept"),
    ),
    (
        "whole frame of 200, 2160p, ms",
        "frames",
        Time("200", 2160, "Vulkan", "whole frame: wall"),
    ),
    (
        "from the hand to the frame, 40 pieces, 1080p, ms",
        "frames",
        Time(
            "live",
            1080,
            "Vulkan",
            "40 pieces, one dragged: hand to frame",
        ),
    ),
    (
        "cold start to the first frame, ms (slowest)",
        "cold",
        Cell("all of these", "Vulkan"),
    ),
    (
        "most memory for it, MB",
        "memory",
        Cell("the demo's frame, 1920x1080", "most memory, MB"),
    ),
    (
        "exponent, 10 to 2000 pieces: whole frame",
        "growth",
        Cell("exponent, 10 to 2000", "whole frame: wall"),
    ),
    (
        "one piece moved",
        "growth",
        Cell("exponent, 10 to 2000", "one moved: wall"),
    ),
    (
        "all light anew",
        "growth",
        Cell("exponent, 10 to 2000", "all light anew"),
    ),
    (
        "all checks",
        "growth",
        Cell("exponent, 10 to 2000", "all checks"),
    ),
    (
        "job opened",
        "growth",
        Cell("exponent, 10 to 2000", "job opened"),
    ),
    (
        "a calibration of 20 marks solved, ms",
        "solve",
        Cell("20", "all of the fit, ms"),
    ),
    (
        "a PDF of 160 000 curves read, s",
        "import",
        Cell("PDF, one page", "read, s"),
    ),
    (
        "shade under a moving piece, ms",
        "shade",
        Cell("under a piece of 250", "ms"),
    ),
    (
        "a place sought among twenty pieces, ms",
        "place",
        Cell("fade, even, stripe", "best ms"),
    ),
    (
        "*shirts* after 60 s of the processor, density, %",
        "fit",
        Cell("shirts", "60 s"),
    ),
    (
        "photo of 12 MP to the table from above, s (of all cores' work)",
        "photo",
        Cell("12 MP", "read and from above"),
    ),
];
