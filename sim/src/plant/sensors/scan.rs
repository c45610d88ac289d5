//! Two scan cones about body +y and −y, and where they cross the edge of the Earth.
//!
//! Each cone sweeps from space over the Earth and out again. The phases of its two crossings, counted about the
//! cone's axis from body z towards body x, are all the sensor has. The middle of the two follows pitch one to one;
//! the widths of the two Earth pulses differ with roll, in a way that does not depend on the height of the orbit:
//! for the direction n of a round Earth's centre, cos ρ = ±cos γ·n_y + sin γ·√(n_x² + n_z²)·cos(width/2) on the cone
//! about ±y (γ: half angle of the cone, ρ: of the Earth; Wertz 1978, ch. 4), and taking one from the other leaves
//! n_y alone.

use crate::world::ellipsoid;
use nalgebra::Vector3;

/// One number for each edge: the cones about +y and −y, and on each the edge towards +x and towards −x.
pub type ByEdge = [[f64; 2]; 2];

/// Sides of the cones about +y and −y, and of the edges of a cone.
const SIDES: [f64; 2] = [1.0, -1.0];
/// Cosine of half the shortest Earth pulse that counts, and, negative, of the longest: 23° and 337°.
const PULSE_COS: f64 = 0.98;
/// Newton's steps from a round Earth's edge: half a degree off, the second leaves less than 1e-8 rad.
const STEPS: u32 = 2;

/// The Earth that is scanned, in body axes.
#[derive(Clone, Copy, Debug)]
pub struct Earth {
    /// The vehicle's place against the Earth's centre, m.
    pub position_m: Vector3<f64>,
    /// Direction of the north pole, length 1.
    pub pole: Vector3<f64>,
    /// Whether it is flattened.
    pub oblate: bool,
}

impl Earth {
    /// How far a ray from the vehicle along `direction` (length 1) passes inside the ellipsoid raised by `height_m`,
    /// m, about: zero where it grazes, negative where it misses.
    ///
    /// The ellipsoid with both half-axes raised stands for the surface of that height; the two differ by less than a
    /// metre at 100 km.
    pub fn inside_m(&self, direction: &Vector3<f64>, height_m: f64) -> f64 {
        self.raised(height_m).inside_m(direction)
    }

    /// Where the ray comes closest to the Earth, m from its centre, body axes.
    pub fn closest_m(&self, direction: &Vector3<f64>) -> Vector3<f64> {
        self.position_m - direction * self.position_m.dot(direction)
    }

    fn raised(&self, height_m: f64) -> Raised {
        let a_m = ellipsoid::A_M + height_m;
        let b_m = if self.oblate { ellipsoid::B_M + height_m } else { a_m };
        let stretch = (a_m / b_m).powi(2) - 1.0;
        let along_m = self.position_m.dot(&self.pole);
        let clear_m2 = self.position_m.norm_squared() + stretch * along_m * along_m - a_m * a_m;
        Raised { position_m: self.position_m, pole: self.pole, stretch, along_m, clear_m: clear_m2.max(0.0).sqrt() }
    }
}

/// The ellipsoid as a sphere: lengths along the axis count by `1 + stretch`.
struct Raised {
    position_m: Vector3<f64>,
    pole: Vector3<f64>,
    stretch: f64,
    along_m: f64,
    /// Length of a tangent from the vehicle, in the stretched space.
    clear_m: f64,
}

impl Raised {
    fn inside_m(&self, direction: &Vector3<f64>) -> f64 {
        let along = self.pole.dot(direction);
        let towards_m = -(self.position_m.dot(direction) + self.stretch * self.along_m * along);
        towards_m - self.clear_m * (1.0 + self.stretch * along * along).sqrt()
    }

    /// The same and its derivative when `direction` changes by `change`.
    fn inside_and_slope_m(&self, direction: &Vector3<f64>, change: &Vector3<f64>) -> (f64, f64) {
        let (along, along_change) = (self.pole.dot(direction), self.pole.dot(change));
        let root = (1.0 + self.stretch * along * along).sqrt();
        let towards_m = -(self.position_m.dot(direction) + self.stretch * self.along_m * along);
        let slope_m = -(self.position_m.dot(change) + self.stretch * self.along_m * along_change)
            - self.clear_m * self.stretch * along * along_change / root;
        (towards_m - self.clear_m * root, slope_m)
    }
}

/// Sine and cosine of an angle that is small nearly always: to 1e-10 by series then, exact otherwise.
fn sin_cos(angle_rad: f64) -> (f64, f64) {
    if angle_rad.abs() > 0.03 {
        return angle_rad.sin_cos();
    }
    let square = angle_rad * angle_rad;
    (angle_rad * (1.0 - square / 6.0), 1.0 - square * (0.5 - square / 24.0))
}

/// The four edges found: those of a round Earth, and how far each of the true ones is from them.
///
/// Sines and cosines are kept rather than phases, so that ten samples a second cost no trigonometric function.
#[derive(Clone, Copy, Debug)]
pub struct Edges {
    /// Sine and cosine of the middle of both cones' Earth pulses, the Earth being round.
    middle: [f64; 2],
    /// Sine and cosine of half the pulse of each cone, the Earth being round.
    half: [[f64; 2]; 2],
    /// From the round Earth's edge to the true one, rad of phase.
    bent_rad: ByEdge,
}

impl Edges {
    /// Sine and cosine of an edge's phase.
    fn turned(&self, cone: usize, edge: usize) -> (f64, f64) {
        let ([sin_middle, cos_middle], [sin_half, cos_half]) = (self.middle, self.half[cone]);
        let sin_half = SIDES[edge] * sin_half;
        let (sin, cos) = (sin_middle * cos_half + cos_middle * sin_half, cos_middle * cos_half - sin_middle * sin_half);
        let (sin_bent, cos_bent) = sin_cos(self.bent_rad[cone][edge]);
        (sin * cos_bent + cos * sin_bent, cos * cos_bent - sin * sin_bent)
    }

    /// Phase of an edge, rad, in (−π, π]; `edge` 0 is that towards +x, `cone` 0 that about +y.
    pub fn phase_rad(&self, cone: usize, edge: usize) -> f64 {
        let (sin, cos) = self.turned(cone, edge);
        sin.atan2(cos)
    }

    /// Moves an edge by `by_rad` of phase.
    pub fn shift(&mut self, cone: usize, edge: usize, by_rad: f64) {
        self.bent_rad[cone][edge] += by_rad;
    }
}

/// The pair of scan cones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scan {
    sin: f64,
    cos: f64,
}

impl Scan {
    /// Cones of half angle `half_angle_rad`.
    pub fn new(half_angle_rad: f64) -> Self {
        Self { sin: half_angle_rad.sin(), cos: half_angle_rad.cos() }
    }

    /// Direction of a cone's ray at a phase, body axes; `cone` 0 is that about +y.
    pub fn direction(&self, cone: usize, phase_rad: f64) -> Vector3<f64> {
        self.ray(cone, phase_rad.sin_cos())
    }

    /// Direction of an edge, body axes.
    pub fn towards(&self, edges: &Edges, cone: usize, edge: usize) -> Vector3<f64> {
        self.ray(cone, edges.turned(cone, edge))
    }

    fn ray(&self, cone: usize, (sin, cos): (f64, f64)) -> Vector3<f64> {
        Vector3::new(self.sin * sin, SIDES[cone] * self.cos, self.sin * cos)
    }

    /// The four edges, or `None` if a cone misses the Earth or sees nothing else; `heights_m`: of the horizon at each.
    pub fn edges(&self, earth: &Earth, heights_m: &ByEdge) -> Option<Edges> {
        let radius_m = earth.position_m.norm_squared().sqrt();
        let down = earth.position_m / -radius_m;
        let level = (down.x * down.x + down.z * down.z).sqrt();
        let round = (ellipsoid::A_M * (1.0 - ellipsoid::F / 3.0) + heights_m[0][0]) / radius_m;
        let cos_earth = (1.0 - round * round).max(0.0).sqrt();
        let mut half = [[0.0; 2]; 2];
        for (half, side) in half.iter_mut().zip(SIDES) {
            let cos_half = (cos_earth - side * self.cos * down.y) / (self.sin * level);
            // A cone about the vertical sees one thing all round: its quotient may be no number.
            let seen = cos_half.abs() < PULSE_COS;
            if !seen {
                return None;
            }
            *half = [(1.0 - cos_half * cos_half).sqrt(), cos_half];
        }
        let middle = [down.x / level, down.z / level];
        let mut edges = Edges { middle, half, bent_rad: ByEdge::default() };
        for (cone, heights_m) in heights_m.iter().enumerate() {
            for (edge, height_m) in heights_m.iter().enumerate() {
                let raised = earth.raised(*height_m);
                for _ in 0..STEPS {
                    let step_rad = self.newton(&raised, cone, edges.turned(cone, edge));
                    edges.bent_rad[cone][edge] -= step_rad;
                }
            }
        }
        edges.bent_rad.iter().flatten().all(|bent| bent.abs() < 0.1).then_some(edges)
    }

    fn newton(&self, raised: &Raised, cone: usize, (sin, cos): (f64, f64)) -> f64 {
        let change = Vector3::new(self.sin * cos, 0.0, -self.sin * sin);
        let (inside_m, slope_m) = raised.inside_and_slope_m(&self.ray(cone, (sin, cos)), &change);
        inside_m / slope_m
    }

    /// What a round Earth with these edges would show as the direction of its centre, length 1, body axes.
    pub fn down(&self, edges: &Edges) -> Vector3<f64> {
        let cos_half = [0, 1].map(|cone| {
            let ([sin, cos], [ahead, behind]) = (edges.half[cone], edges.bent_rad[cone]);
            let (sin_bent, cos_bent) = sin_cos(0.5 * (ahead - behind));
            cos * cos_bent - sin * sin_bent
        });
        let side = 0.5 * (cos_half[1] - cos_half[0]) * self.sin / self.cos;
        let ([sin, cos], bent_rad) = (edges.middle, edges.bent_rad.iter().flatten().sum::<f64>());
        let (sin_bent, cos_bent) = sin_cos(0.25 * bent_rad);
        let down = Vector3::new(sin * cos_bent + cos * sin_bent, side, cos * cos_bent - sin * sin_bent);
        down / down.norm_squared().sqrt()
    }

    /// Phases between which something of half angle `half_rad` in direction `towards` (length 1) fills a cone's view.
    pub fn span(&self, cone: usize, towards: &Vector3<f64>, half_rad: f64) -> Option<[f64; 2]> {
        let cone_rad = self.sin.atan2(self.cos);
        let off = (SIDES[cone] * towards.y).clamp(-1.0, 1.0).acos() - cone_rad;
        let left = half_rad * half_rad - off * off;
        if left <= 0.0 || left.is_nan() {
            return None;
        }
        let (at, reach) = (towards.x.atan2(towards.z), left.sqrt() / self.sin);
        Some([at - reach, at + reach])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVEL: Vector3<f64> = Vector3::new(0.0, 0.0, -6_578_137.0);

    fn round(position_m: Vector3<f64>) -> Earth {
        Earth { position_m, pole: Vector3::x(), oblate: false }
    }

    /// Chord of a 45° cone with a level axis, from 200 km to a horizon 40 km high on a sphere, and its change with tilt,
    /// from the formula of Wertz (1978), ch. 4, evaluated apart: 143.879835° and 2.103642° a degree.
    #[test]
    fn the_earth_pulse_has_its_published_width() {
        let scan = Scan::new(45_f64.to_radians());
        let width = |roll_deg: f64| {
            let roll = roll_deg.to_radians();
            let earth = round(Vector3::new(0.0, -6_578_137.0 * roll.sin(), -6_578_137.0 * roll.cos()));
            let edges = scan.edges(&earth, &[[40e3; 2]; 2]).unwrap();
            (edges.phase_rad(0, 0) - edges.phase_rad(0, 1)).to_degrees()
        };
        assert!((width(0.0) - 143.879_835).abs() < 1e-6, "{}", width(0.0));
        // Roll lowers the cone about +y: its axis comes closer to the Earth's centre.
        let slope = (width(0.01) - width(-0.01)) / 0.02;
        assert!((slope - 2.103_642).abs() < 1e-5, "{slope}");
    }

    #[test]
    fn a_round_earth_shows_its_centre_whatever_its_size() {
        for half_angle_deg in [45.0, 60.0, 70.0_f64] {
            let scan = Scan::new(half_angle_deg.to_radians());
            for height_m in [0.0, 40e3, 80e3] {
                let down = Vector3::new(-0.15, 0.22, 0.9).normalize();
                let earth = round(down * -6_613_137.0);
                let edges = scan.edges(&earth, &[[height_m; 2]; 2]).unwrap();
                assert!((scan.down(&edges) - down).norm() < 1e-9);
            }
        }
    }

    #[test]
    fn two_steps_bring_a_ray_to_the_edge() {
        let scan = Scan::new(1.0);
        let heights_m = [[40e3, 36e3], [39e3, 44e3]];
        for step in 0..200 {
            let turn = 0.1 * f64::from(step);
            let pole = Vector3::new(turn.cos(), 0.1, turn.sin()).normalize();
            let earth = Earth { position_m: LEVEL, pole, oblate: true };
            let edges = scan.edges(&earth, &heights_m).unwrap();
            for (cone, edge) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                // 6,000 km of slope a radian: a decimetre is 2e-8 rad.
                let off_m = earth.inside_m(&scan.towards(&edges, cone, edge), heights_m[cone][edge]);
                assert!(off_m.abs() < 0.1, "{step}: {off_m}");
                let ray = scan.direction(cone, edges.phase_rad(cone, edge));
                assert!((ray - scan.towards(&edges, cone, edge)).norm() < 1e-9);
            }
        }
    }

    #[test]
    fn a_cone_that_misses_the_earth_finds_no_edge() {
        let scan = Scan::new(1.0);
        let rolled = |deg: f64| round(Vector3::new(0.0, -deg.to_radians().sin(), -deg.to_radians().cos()) * 6.6e6);
        assert!(scan.edges(&rolled(30.0), &[[40e3; 2]; 2]).is_some());
        assert!(scan.edges(&rolled(60.0), &[[40e3; 2]; 2]).is_none());
        assert!(scan.edges(&rolled(-60.0), &[[40e3; 2]; 2]).is_none());
    }

    #[test]
    fn a_body_in_the_cone_fills_twice_its_half_angle() {
        let scan = Scan::new(1.0);
        let [from, to] = scan.span(0, &scan.direction(0, 0.7), 0.05).unwrap();
        assert!((0.5 * (from + to) - 0.7).abs() < 1e-12 && (to - from - 0.1 / 1_f64.sin()).abs() < 1e-12);
        assert!(scan.span(1, &scan.direction(0, 0.7), 0.05).is_none());
    }
}
