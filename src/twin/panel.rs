//! Cloth on the table, as it looks.

use image::RgbaImage;

use super::picture::Response;
use crate::space::{Bounds, Cloth, Point, Rigid, Table};

/// A panel of cloth where it lies.
#[derive(Debug, Clone)]
pub struct ClothSeen {
    /// Its look: sRGB with straight alpha; the table shows where alpha is 0.
    pub image: RgbaImage,
    /// What the image covers: its left column is at the least x, its bottom
    /// row at the least y.
    pub box_mm: Bounds<Cloth>,
    /// Where the cloth lies.
    pub pose: Rigid<Cloth, Table>,
}

/// A panel made ready to be asked for its reflectance point by point.
pub(super) struct Panel {
    to_cloth: Rigid<Table, Cloth>,
    box_mm: Bounds<Cloth>,
    size: [usize; 2],
    /// Red, green and blue reflectance times cover, and cover.
    texels: Vec<[f32; 4]>,
}

impl Panel {
    /// `None` if the panel has no area or no pixels.
    pub(super) fn new(seen: &ClothSeen) -> Option<Self> {
        let texels: Vec<[f32; 4]> = seen
            .image
            .pixels()
            .map(|pixel| {
                let [r, g, b, a] = pixel.0;
                let cover = f64::from(a) / 255.0;
                let light = |code| (Response::default().light(code) * cover) as f32;
                [light(r), light(g), light(b), cover as f32]
            })
            .collect();
        (!seen.box_mm.is_empty() && !texels.is_empty()).then(|| Self {
            to_cloth: seen.pose.inverse(),
            box_mm: seen.box_mm,
            size: [seen.image.width() as usize, seen.image.height() as usize],
            texels,
        })
    }

    /// Reflectance (red, green, blue, each times the cover) and cover at a
    /// point of the table, interpolated between the image's pixels; nothing
    /// outside the panel.
    pub(super) fn at(&self, p: Point<Table>) -> [f64; 4] {
        let p = self.to_cloth.point(p);
        if !self.box_mm.contains(p) {
            return [0.0; 4];
        }
        let Bounds { min, max } = self.box_mm;
        let [width, height] = self.size;
        // From pixel centre to pixel centre, held at the border.
        let place = |share: f64, side: usize| {
            let place = (share * side as f64 - 0.5).clamp(0.0, (side - 1) as f64);
            let whole = (place as usize).min(side.saturating_sub(2));
            (whole, (whole + 1).min(side - 1), place - whole as f64)
        };
        let (left, right, s) = place((p.x - min.x) / (max.x - min.x), width);
        let (above, below, t) = place((max.y - p.y) / (max.y - min.y), height);
        let texel = |x: usize, y: usize, c: usize| f64::from(self.texels[y * width + x][c]);
        std::array::from_fn(|c| {
            let row = |y: usize| texel(left, y, c) * (1.0 - s) + texel(right, y, c) * s;
            row(above) * (1.0 - t) + row(below) * t
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Vector;
    use image::Rgba;

    fn panel(mirrored: bool) -> Panel {
        // Left half clear, right half red, a white row at the top.
        let image = RgbaImage::from_fn(40, 20, |x, y| match (x, y) {
            (_, 0..5) => Rgba([255, 255, 255, 255]),
            (0..20, _) => Rgba([0, 255, 0, 0]),
            _ => Rgba([255, 0, 0, 255]),
        });
        let seen = ClothSeen {
            image,
            box_mm: Bounds::new(Point::new(0.0, 0.0), Point::new(80.0, 40.0)),
            pose: Rigid::new(mirrored, 0.0, Vector::new(100.0, 200.0)),
        };
        Panel::new(&seen).expect("a panel")
    }

    #[test]
    fn the_image_lies_upright_where_the_pose_puts_it() {
        let panel = panel(false);
        assert_eq!(panel.at(Point::new(160.0, 210.0)), [1.0, 0.0, 0.0, 1.0]);
        assert_eq!(panel.at(Point::new(120.0, 210.0)), [0.0; 4]);
        assert_eq!(panel.at(Point::new(120.0, 239.0)), [1.0; 4]);
        assert_eq!(panel.at(Point::new(190.0, 210.0)), [0.0; 4]);
        // Between two columns, the clear one's colour does not show.
        assert_eq!(panel.at(Point::new(140.0, 210.0)), [0.5, 0.0, 0.0, 0.5]);
    }

    #[test]
    fn face_down_it_lies_the_other_way() {
        let panel = panel(true);
        assert_eq!(panel.at(Point::new(40.0, 210.0)), [1.0, 0.0, 0.0, 1.0]);
        assert_eq!(panel.at(Point::new(160.0, 210.0)), [0.0; 4]);
    }

    #[test]
    fn nothing_is_no_panel() {
        let seen = |image, max| ClothSeen {
            image,
            box_mm: Bounds::new(Point::new(0.0, 0.0), max),
            pose: Rigid::new(false, 0.0, Vector::zero()),
        };
        assert!(Panel::new(&seen(RgbaImage::new(0, 0), Point::new(1.0, 1.0))).is_none());
        assert!(Panel::new(&seen(RgbaImage::new(2, 2), Point::new(0.0, 1.0))).is_none());
        let one = Panel::new(&seen(RgbaImage::new(1, 1), Point::new(1.0, 1.0)));
        assert_eq!(one.expect("a panel").at(Point::new(0.5, 0.5)), [0.0; 4]);
    }
}
