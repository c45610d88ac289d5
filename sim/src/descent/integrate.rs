//! The integrator of the descent: Dormand and Prince's pair of orders five and four with its own step, and events
//! located by taking the last step over again, shorter.
//!
//! Dormand & Prince, *J. Comput. Appl. Math.* 6, 19 (1980). Error over a step, in the position's and the velocity's
//! own tolerance, decides its length; steps never reach past `until_s`, so that kinks of thrust are given as ends.

use nalgebra::SVector;

use crate::world::dormand_prince::{ERROR, NODES, ROWS};
use crate::world::{Vec3, roots};

/// Position, m, velocity, m/s, inertial, and heat taken up, J/m².
pub type Whole = SVector<f64, 7>;

/// The state at an instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Time, s.
    pub t_s: f64,
    /// State.
    pub y: Whole,
}

impl Point {
    /// From its parts.
    pub fn new(t_s: f64, position_m: &Vec3, velocity_m_s: &Vec3, heat_j_m2: f64) -> Self {
        let (r, v) = (position_m, velocity_m_s);
        Self { t_s, y: Whole::from([r.x, r.y, r.z, v.x, v.y, v.z, heat_j_m2]) }
    }

    /// Inertial position, m.
    pub fn position_m(&self) -> Vec3 {
        Vec3::new(self.y[0], self.y[1], self.y[2])
    }

    /// Inertial velocity, m/s.
    pub fn velocity_m_s(&self) -> Vec3 {
        Vec3::new(self.y[3], self.y[4], self.y[5])
    }

    /// Heat taken up at the stagnation point, J/m².
    pub fn heat_j_m2(&self) -> f64 {
        self.y[6]
    }
}

/// How closely a path is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closeness {
    /// Error of position allowed in a step, m.
    pub position_m: f64,
    /// Error of velocity allowed in a step, m/s.
    pub velocity_m_s: f64,
    /// Longest step, s.
    pub longest_s: f64,
}

impl Closeness {
    /// For the one descent that is shown: a row every second, errors of millimetres.
    pub const SHOWN: Self = Self { position_m: 1e-3, velocity_m_s: 1e-5, longest_s: 1.0 };
    /// For the many that are counted: metres at the end, far below any dispersion.
    pub const COUNTED: Self = Self { position_m: 0.05, velocity_m_s: 1e-3, longest_s: 60.0 };
}

/// One step from `from`, whose slope is known: the end, its slope, and the error in tolerances.
fn step(
    slope: &impl Fn(f64, &Whole) -> Whole,
    from: &Point,
    first: &Whole,
    h: f64,
    closeness: &Closeness,
) -> (Point, Whole, f64) {
    let mut k = [*first; 7];
    let mut y = from.y;
    for (stage, (row, node)) in ROWS.iter().zip(NODES).enumerate() {
        let mut sum = Whole::zeros();
        for (weight, slope) in row.iter().zip(&k).take(stage + 1) {
            sum += slope * *weight;
        }
        y = from.y + sum * h;
        k[stage + 1] = slope(from.t_s + node * h, &y);
    }
    let miss: Whole = k.iter().zip(ERROR).map(|(k, weight)| k * weight).sum::<Whole>() * h;
    let size = |from: usize| (miss[from].powi(2) + miss[from + 1].powi(2) + miss[from + 2].powi(2)).sqrt();
    let error = (size(0) / closeness.position_m).max(size(3) / closeness.velocity_m_s);
    (Point { t_s: from.t_s + h, y }, k[6], error)
}

/// Why an advance ended.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Stop {
    /// The time asked for was reached.
    Time,
    /// The event of this number happened.
    Event(usize),
    /// The path is no longer finite.
    Lost,
}

/// Length of the first step, s.
const FIRST_S: f64 = 0.1;
/// To which an event's instant is found, s.
const EVENT_S: f64 = 1e-7;

/// Advances to `until_s`, or to the first of `events` to rise through zero; `row` sees every step's end.
pub fn advance<const N: usize>(
    slope: impl Fn(f64, &Whole) -> Whole,
    start: Point,
    until_s: f64,
    closeness: &Closeness,
    events: impl Fn(&Point) -> [f64; N],
    mut row: impl FnMut(&Point),
) -> (Point, Stop) {
    let mut at = start;
    let mut k = slope(at.t_s, &at.y);
    let mut h = FIRST_S;
    let mut before = events(&at);
    while until_s - at.t_s > 1e-9 {
        let last = until_s - at.t_s;
        let tried = h.min(last).min(closeness.longest_s);
        let (end, end_k, error) = step(&slope, &at, &k, tried, closeness);
        if !error.is_finite() {
            if tried < 1e-6 {
                return (at, Stop::Lost);
            }
            h = 0.1 * tried;
            continue;
        }
        let factor = (0.9 * error.max(1e-10).powf(-0.2)).clamp(0.2, 5.0);
        if error > 1.0 && tried > 1e-6 {
            h = tried * factor;
            continue;
        }
        let after = events(&end);
        let risen = |k: usize| before[k] < 0.0 && after[k] >= 0.0;
        let first = (0..N).filter(|k| risen(*k)).map(|event| {
            let value = |part: f64| events(&step(&slope, &at, &k, part, closeness).0)[event];
            (roots::crossing(value, 0.0, tried, EVENT_S), event)
        });
        if let Some((part, event)) = first.min_by(|a, b| a.0.total_cmp(&b.0)) {
            let end = step(&slope, &at, &k, part.max(EVENT_S), closeness).0;
            row(&end);
            return (end, Stop::Event(event));
        }
        (at, k, before) = (end, end_k, after);
        row(&at);
        // A step cut short by the end says nothing of the next one's length.
        h = if tried < last || factor < 1.0 { tried * factor } else { h };
    }
    (at, Stop::Time)
}
