//! The size that the drawing gives to its page.

use roxmltree::Node;

use super::sheet::{declarations, without_comments};
use super::units::{self, PageLength};
use crate::fault::{Fault, Outcome};

/// What the root element says of its size.
pub struct Page {
    pub width: Option<PageLength>,
    pub height: Option<PageLength>,
}

impl Page {
    /// The size of `root`: from its style, else from its attributes.
    ///
    /// # Errors
    ///
    /// When a side can't be read, is relative, or is not positive.
    pub fn of(root: Node) -> Outcome<Self> {
        let style = without_comments(root.attribute("style").unwrap_or_default());
        let side = |name: &str| {
            let mut said: Option<(&str, bool)> = None;
            for declaration in declarations(&style) {
                let held = said.is_some_and(|(_, important)| important);
                if declaration.name == name && (declaration.important || !held) {
                    said = Some((declaration.value, declaration.important));
                }
            }
            let said = said.map(|(value, _)| value);
            match said.or_else(|| root.attribute(name)).map(str::trim) {
                None | Some("" | "auto") => Ok(None),
                Some(text) => positive(text).map(Some).map_err(|fault| fault.at(name)),
            }
        };
        Ok(Self {
            width: side("width")?,
            height: side("height")?,
        })
    }

    /// What a person should check, if the scale rests on the size of a px.
    pub fn note(&self, has_view_box: bool) -> Option<&'static str> {
        let given = [self.width, self.height];
        if given.iter().all(Option::is_none) {
            Some(
                "the drawing's size is not given, taken as 1/96 inch; \
                 measure a piece before you trust it.",
            )
        } else if given.iter().flatten().any(|side| side.in_px) {
            Some(
                "the drawing's size is given in px, taken as 1/96 inch; \
                 measure a piece before you trust it.",
            )
        } else if !has_view_box {
            Some(
                "the drawing has no viewBox, so a unit is taken as 1/96 inch; \
                 measure a piece before you trust it.",
            )
        } else {
            None
        }
    }
}

fn positive(text: &str) -> Outcome<PageLength> {
    let length = units::page_mm(text)?;
    if length.mm > 0.0 {
        Ok(length)
    } else {
        Err(Fault::input(
            "the drawing has no size",
            "give it a width and height above zero",
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(attributes: &str) -> Outcome<Page> {
        let text = format!("<svg {attributes}/>");
        Page::of(roxmltree::Document::parse(&text).unwrap().root_element())
    }

    fn sides(attributes: &str) -> [Option<f64>; 2] {
        let page = page(attributes).unwrap();
        [page.width, page.height].map(|side| side.map(|side| side.mm))
    }

    #[test]
    fn the_style_says_the_size_before_the_attributes_do() {
        assert_eq!(sides("width='5mm' height='2cm'"), [Some(5.0), Some(20.0)]);
        assert_eq!(
            sides("width='5mm' style='WIDTH: 1cm ;height:3mm' height='2cm'"),
            [Some(10.0), Some(3.0)]
        );
        assert_eq!(
            sides("style='width:1cm!important;width:2cm;/*height:1cm*/'"),
            [Some(10.0), None]
        );
        assert_eq!(sides("width='5mm' style='width:auto'"), [None, None]);
        for bad in ["100%", "3em", "calc(1mm)", "0mm", "-1mm"] {
            assert!(page(&format!("style='width:{bad}'")).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_size_that_rests_on_a_px_is_noted() {
        let note = |attributes: &str, view| page(attributes).unwrap().note(view).unwrap_or("");
        for px in [
            "width='9px'",
            "height='9'",
            "style='width:9px'",
            "width='9mm' height='9'",
        ] {
            assert!(note(px, true).contains("given in px"), "{px}");
        }
        assert!(note("", true).contains("not given"));
        assert!(note("width='9mm'", false).contains("no viewBox"));
        for mm in [
            "width='9mm'",
            "height='9in'",
            "style='width:9cm'",
            "width='9pt' height='9pc'",
        ] {
            assert_eq!(note(mm, true), "", "{mm}");
        }
    }
}
