//! What an element is to the walk over the drawing.

use roxmltree::Node;

/// What an element is to the walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    Shape,
    /// A group, `a` or `symbol`: the last is only come to through a `use`.
    Group,
    Svg,
    Switch,
    Use,
    Text,
    /// Draws nothing by itself.
    Silent,
    /// Draws something that is no line.
    Other,
}

impl Sort {
    /// The sort of `node` in a drawing whose root is in `namespace`.
    pub fn of(node: Node, namespace: Option<&str>) -> Self {
        if node.tag_name().namespace() != namespace {
            // An editor's own data.
            return Self::Silent;
        }
        match node.tag_name().name() {
            "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" => Self::Shape,
            "g" | "a" => Self::Group,
            "svg" => Self::Svg,
            "switch" => Self::Switch,
            "use" => Self::Use,
            "text" => Self::Text,
            "defs" | "metadata" | "title" | "desc" | "style" | "script" | "symbol" | "marker"
            | "clipPath" | "mask" | "pattern" | "linearGradient" | "radialGradient"
            | "meshgradient" | "hatch" | "filter" | "font" | "font-face" | "view" | "cursor"
            | "color-profile" | "solidColor" | "animate" | "animateColor" | "animateMotion"
            | "animateTransform" | "set" => Self::Silent,
            _ => Self::Other,
        }
    }
}
