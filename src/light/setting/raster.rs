//! A plain picture of sRGB codes, for what must hit whole pixels.

use crate::projection::Upright;

/// Rows of red, green and blue codes from the top left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodeRaster {
    pub width: u32,
    pub height: u32,
    /// 3 · width · height codes.
    pub rgb: Vec<u8>,
}

impl CodeRaster {
    /// A dark picture.
    pub fn new(width: u32, height: u32) -> Self {
        Self {
            width,
            height,
            rgb: vec![0; 3 * width as usize * height as usize],
        }
    }

    fn at(&self, column: u32, row: u32) -> usize {
        3 * (row as usize * self.width as usize + column as usize)
    }

    /// The codes of a pixel, which must lie in the picture.
    pub fn get(&self, column: u32, row: u32) -> [u8; 3] {
        let at = self.at(column, row);
        [self.rgb[at], self.rgb[at + 1], self.rgb[at + 2]]
    }

    /// Sets a pixel; one outside the picture is passed over.
    pub fn set(&mut self, column: u32, row: u32, codes: [u8; 3]) {
        if column < self.width && row < self.height {
            let at = self.at(column, row);
            self.rgb[at..at + 3].copy_from_slice(&codes);
        }
    }

    /// Sets all pixels of a rectangle for which `lit` says a code: left, top,
    /// right, bottom; right and bottom excluded, held to the picture.
    pub fn fill(
        &mut self,
        [left, top, right, bottom]: [u32; 4],
        lit: impl Fn(u32, u32) -> Option<[u8; 3]>,
    ) {
        for row in top..bottom.min(self.height) {
            for column in left..right.min(self.width) {
                if let Some(codes) = lit(column, row) {
                    self.set(column, row, codes);
                }
            }
        }
    }

    /// This raster, laid out as the reader sees it, as the projector must show
    /// it. Its size must be the reader's.
    pub(super) fn turned(&self, on: &Upright) -> CodeRaster {
        let [width, height] = on.picture;
        let mut out = CodeRaster::new(width, height);
        for row in 0..self.height {
            for column in 0..self.width {
                let (x, y) = on.cell(column, row);
                out.set(x, y, self.get(column, row));
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stand::Side;

    #[test]
    fn a_quarter_turn_moves_whole_pixels() {
        // Read from the right, a picture of 3 × 2 is 2 wide and 3 away.
        let on = Upright::new([3, 2], Side::Right, false);
        let mut seen = CodeRaster::new(2, 3);
        seen.set(0, 0, [1, 2, 3]);
        seen.set(1, 0, [4, 5, 6]);
        let sent = seen.turned(&on);
        // Their far left is the picture's lower left; right of it lies up.
        assert_eq!(sent.get(0, 1), [1, 2, 3]);
        assert_eq!(sent.get(0, 0), [4, 5, 6]);
        let mirrored = seen.turned(&Upright::new([3, 2], Side::Right, true));
        assert_eq!(mirrored.get(2, 1), [1, 2, 3]);
    }

    #[test]
    fn filling_keeps_to_the_picture() {
        let mut r = CodeRaster::new(2, 2);
        r.fill([1, 0, 9, 9], |_, row| (row == 0).then_some([255; 3]));
        r.set(7, 7, [9; 3]);
        assert_eq!(r.rgb, [0, 0, 0, 255, 255, 255, 0, 0, 0, 0, 0, 0]);
    }
}
