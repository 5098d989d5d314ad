//! A projector with known optics, hung in a known place.

use nalgebra::{Matrix3, Vector2, Vector3};

use super::lens::Lens;
use crate::space::{Point, Projector, Table};

/// How far a rotation's rows may be from orthonormal.
const ORTHONORMAL: f64 = 1e-9;

/// What is inside the projector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Optics {
    /// Width and height of the picture in pixels.
    pub size: [u32; 2],
    /// Focal length in pixels along the picture's x and y.
    pub focal: [f64; 2],
    /// Where the optical axis meets the picture. Lens shift puts it far from
    /// the middle, even outside.
    pub centre: Point<Projector>,
    /// The distortion of the lens.
    pub lens: Lens,
}

/// A projector in its place above the table.
///
/// The projector's own frame has x to the right and y down in the picture and
/// z forward along the optical axis; a table point X lies in it at R·X + t.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rig {
    optics: Optics,
    rotation: Matrix3<f64>,
    translation: Vector3<f64>,
}

impl Rig {
    /// A rig from the rows of its rotation R and its translation t in mm,
    /// table to projector frame.
    ///
    /// `None` if R is no rotation, the picture is empty, a focal length is
    /// not positive, or any number is not finite.
    pub fn from_pose(
        optics: Optics,
        rotation: [[f64; 3]; 3],
        translation: [f64; 3],
    ) -> Option<Self> {
        let rotation = Matrix3::from_fn(|row, column| rotation[row][column]);
        let translation = Vector3::from(translation);
        let off = (rotation * rotation.transpose() - Matrix3::identity()).norm();
        // Written so that NaN fails.
        let turns = off <= ORTHONORMAL && rotation.determinant() > 0.0;
        let placed = translation.iter().all(|t| t.is_finite());
        (turns && placed && optics.are_sound()).then_some(Self {
            optics,
            rotation,
            translation,
        })
    }

    /// A projector whose lens is at `position` (x, y, z in mm on the table)
    /// and whose optical axis meets the table at `aim`.
    ///
    /// The picture's top lies away from the operator; `roll` turns the
    /// picture on the table counter-clockwise as seen from above, in radians.
    ///
    /// `None` if the lens is not above the table, or the optics are unsound
    /// in the sense of [`Self::from_pose`].
    pub fn looking(
        position: [f64; 3],
        aim: Point<Table>,
        roll: f64,
        optics: Optics,
    ) -> Option<Self> {
        let position = Vector3::from(position);
        let ahead = Vector3::new(aim.x, aim.y, 0.0) - position;
        if position.z <= 0.0 {
            return None;
        }
        let axes = axes(ahead, roll);
        let rows = axes.map(|axis| axis.into());
        let shift = axes.map(|axis| -axis.dot(&position));
        Self::from_pose(optics, rows, shift)
    }

    /// The rig of the tests: 1920×1080 pixels over a table of 1200×800 mm,
    /// all of it covered. The lens hangs 1500 mm above the table, aimed 13°
    /// off the vertical, with lens shift and a little roll; no distortion.
    pub fn workshop() -> Self {
        let position = Vector3::new(620.0, 450.0, 1500.0);
        let aim = Vector3::new(590.0, 100.0, 0.0);
        let rows = axes(aim - position, 0.012).map(|axis| axis.transpose());
        let rotation = Matrix3::from_rows(&rows);
        Self {
            optics: Optics {
                size: [1920, 1080],
                focal: [1820.0, 1820.0],
                centre: Point::new(930.0, 930.0),
                lens: Lens::default(),
            },
            rotation,
            translation: -(rotation * position),
        }
    }

    /// [`Self::workshop`] with a lens that distorts by up to some twenty
    /// pixels at the far corners.
    pub fn workshop_with_lens() -> Self {
        let mut rig = Self::workshop();
        rig.optics.lens = Lens {
            k1: -0.06,
            k2: 0.01,
            p1: 0.002,
            p2: -0.0015,
            k3: 0.0,
        };
        rig
    }

    /// What is inside the projector.
    pub fn optics(&self) -> &Optics {
        &self.optics
    }

    /// The position of the lens, mm on the table.
    pub fn lens(&self) -> [f64; 3] {
        (-(self.rotation.transpose() * self.translation)).into()
    }

    /// The picture point that lights the point (x, y, z) mm of the table's
    /// space: the formula of OpenCV's `projectPoints`, with the pixel
    /// convention of [`crate::space`].
    ///
    /// A point level with the lens or behind it has no picture; its
    /// coordinates are NaN.
    pub fn project(&self, x: f64, y: f64, z: f64) -> Point<Projector> {
        let seen = self.rotation * Vector3::new(x, y, z) + self.translation;
        if seen.z <= 0.0 {
            return Point::new(f64::NAN, f64::NAN);
        }
        let ideal = Vector2::new(seen.x / seen.z, seen.y / seen.z);
        let bent = self.optics.lens.distort(ideal);
        let Optics { focal, centre, .. } = self.optics;
        Point::new(focal[0] * bent.x + centre.x, focal[1] * bent.y + centre.y)
    }

    /// Where the light of the picture point `pixel` meets the level plane at
    /// `height` mm above the table top.
    ///
    /// `None` if the ray does not come down to that plane, or the point lies
    /// beyond what the lens can show.
    pub fn land(&self, pixel: Point<Projector>, height: f64) -> Option<Point<Table>> {
        let Optics { focal, centre, .. } = self.optics;
        let seen = Vector2::new(
            (pixel.x - centre.x) / focal[0],
            (pixel.y - centre.y) / focal[1],
        );
        let ideal = self.optics.lens.undistort(seen)?;
        let back = self.rotation.transpose();
        let ray = back * Vector3::new(ideal.x, ideal.y, 1.0);
        let from = -(back * self.translation);
        let along = (height - from.z) / ray.z;
        (along.is_finite() && along > 0.0)
            .then(|| Point::new(from.x + along * ray.x, from.y + along * ray.y))
    }
}

impl Optics {
    fn are_sound(&self) -> bool {
        let Lens { k1, k2, p1, p2, k3 } = self.lens;
        let numbers = [self.centre.x, self.centre.y, k1, k2, p1, p2, k3];
        self.size.iter().all(|&side| side > 0)
            && self.focal.iter().all(|&f| f.is_finite() && f > 0.0)
            && numbers.iter().all(|n| n.is_finite())
    }
}

/// The projector's right, down and ahead in the table's space, for an axis
/// along `ahead` that is not level; see [`Rig::looking`] for `roll`.
fn axes(ahead: Vector3<f64>, roll: f64) -> [Vector3<f64>; 3] {
    let ahead = ahead.normalize();
    // Towards the operator is down in the picture.
    let level = (-Vector3::y()).cross(&ahead).normalize();
    let right = level * roll.cos() - ahead.cross(&level) * roll.sin();
    [right, ahead.cross(&right), ahead]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Points in mm and, for several rigs, the pixels that
    /// `cv2.projectPoints` makes of them.
    const REFERENCE: &str = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/twin/project_points.json"
    ));

    fn numbers<const N: usize>(value: &serde_json::Value) -> [f64; N] {
        std::array::from_fn(|i| value[i].as_f64().expect("a number"))
    }

    #[test]
    fn projects_as_the_reference_does() {
        let reference: serde_json::Value = serde_json::from_str(REFERENCE).expect("JSON");
        let rigs = reference["rigs"].as_array().expect("rigs");
        let points = reference["points"].as_array().expect("points");
        assert!(rigs.len() >= 5 && points.len() >= 20);
        let mut worst = 0.0_f64;
        for case in rigs {
            let [k1, k2, p1, p2, k3] = numbers(&case["distortion"]);
            let [cx, cy] = numbers(&case["centre"]);
            let optics = Optics {
                size: numbers::<2>(&case["size"]).map(|side| side as u32),
                focal: numbers(&case["focal"]),
                centre: Point::new(cx, cy),
                lens: Lens { k1, k2, p1, p2, k3 },
            };
            let rows = std::array::from_fn(|row| numbers(&case["rotation"][row]));
            let rig = Rig::from_pose(optics, rows, numbers(&case["translation"])).expect("a rig");
            let pixels = case["pixels"].as_array().expect("pixels");
            assert_eq!(points.len(), pixels.len());
            for (point, pixel) in points.iter().zip(pixels) {
                let [x, y, z] = numbers(point);
                let [u, v] = numbers(pixel);
                worst = worst.max((rig.project(x, y, z) - Point::new(u, v)).length());
            }
        }
        assert!(worst <= 1e-9, "{worst:e} px");
    }

    #[test]
    fn both_workshops_cover_the_table_and_look_at_it_aslant() {
        for rig in [Rig::workshop(), Rig::workshop_with_lens()] {
            for step in 0..=100 {
                let s = f64::from(step) / 100.0;
                for (x, y) in [(s, 0.0), (s, 1.0), (0.0, s), (1.0, s)] {
                    let p = rig.project(1200.0 * x, 800.0 * y, 0.0);
                    assert!(p.x > 10.0 && p.x < 1910.0, "{p:?}");
                    assert!(p.y > 10.0 && p.y < 1070.0, "{p:?}");
                }
            }
        }
        let keystone = |y: f64| {
            let rig = Rig::workshop();
            (rig.project(1200.0, y, 0.0) - rig.project(0.0, y, 0.0)).length()
        };
        assert!(keystone(800.0) / keystone(0.0) > 1.1);
    }

    #[test]
    fn the_picture_reads_upright_from_the_operators_side() {
        let rig = Rig::workshop();
        let middle = rig.project(600.0, 400.0, 0.0);
        let right = rig.project(700.0, 400.0, 0.0) - middle;
        let away = rig.project(600.0, 500.0, 0.0) - middle;
        assert!(right.x > 100.0 && right.y.abs() < 10.0, "{right:?}");
        assert!(away.y < -100.0 && away.x.abs() < 10.0, "{away:?}");
    }

    #[test]
    fn looking_puts_the_lens_the_aim_and_the_roll_where_it_is_told() {
        let optics = *Rig::workshop().optics();
        let aim = Point::new(500.0, 300.0);
        let rig = Rig::looking([500.0, 300.0, 1400.0], aim, 0.2, optics).expect("a rig");
        for (found, told) in rig.lens().into_iter().zip([500.0, 300.0, 1400.0]) {
            assert!((found - told).abs() < 1e-9);
        }
        assert!((rig.project(aim.x, aim.y, 0.0) - optics.centre).length() < 1e-9);
        // Counter-clockwise: the picture's right points up the table.
        let right = rig.land(optics.centre + euclid::vec2(100.0, 0.0), 0.0);
        let right = right.expect("on the table") - aim;
        let turn = right.y.atan2(right.x);
        assert!((turn - 0.2).abs() < 1e-12, "{turn}");
    }

    #[test]
    fn unsound_rigs_are_refused() {
        let optics = *Rig::workshop().optics();
        let aim = Point::new(0.0, 0.0);
        let bad = [
            Rig::looking([0.0, 0.0, -5.0], aim, 0.0, optics),
            Rig::looking([0.0, 0.0, 0.0], aim, 0.0, optics),
            Rig::looking([0.0, f64::NAN, 900.0], aim, 0.0, optics),
            Rig::looking([0.0, 0.0, 900.0], aim, f64::INFINITY, optics),
            Rig::from_pose(optics, [[0.0; 3]; 3], [0.0; 3]),
            Rig::looking(
                [0.0, 0.0, 900.0],
                aim,
                0.0,
                Optics {
                    size: [0, 9],
                    ..optics
                },
            ),
            Rig::looking(
                [0.0, 0.0, 900.0],
                aim,
                0.0,
                Optics {
                    focal: [-1.0, 1.0],
                    ..optics
                },
            ),
        ];
        assert_eq!(bad, [None; 7]);
    }

    #[test]
    fn light_that_does_not_come_down_lands_nowhere() {
        let rig = Rig::workshop();
        assert!(rig.land(Point::new(960.0, 540.0), 1600.0).is_none());
        assert!(rig.land(Point::new(f64::NAN, 0.0), 0.0).is_none());
        assert!(rig.project(600.0, 400.0, 5000.0).x.is_nan());
    }

    proptest! {
        #[test]
        fn landing_undoes_projecting(
            dx in -400.0..400.0f64, dy in -400.0..400.0f64, up in 900.0..2500.0f64,
            roll in -3.0..3.0f64, k1 in -0.06..0.06f64, p1 in -0.003..0.003f64,
            x in 0.0..1200.0f64, y in 0.0..800.0f64, z in -5.0..30.0f64,
        ) {
            let mut optics = *Rig::workshop().optics();
            optics.lens = Lens { k1, p1, k2: 0.01, p2: -p1, k3: 0.002 };
            let aim = Point::new(600.0, 400.0);
            let rig = Rig::looking([aim.x + dx, aim.y + dy, up], aim, roll, optics).expect("a rig");
            let landed = rig.land(rig.project(x, y, z), z);
            prop_assert!(landed.is_some_and(|p| (p - Point::new(x, y)).length() < 1e-8));
        }
    }
}
