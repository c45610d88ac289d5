//! The Sun or the Moon in a scan cone.
//!
//! A body beside the Earth's edge joins its pulse with the Earth's: the edge is found at its far side. One that
//! stands clear of the edge gives a short pulse of its own, which the sensor's logic throws away, and one behind the
//! Earth gives none.

use super::scan::{Earth, Edges, Scan};
use nalgebra::Vector3;
use std::f64::consts::{PI, TAU};

/// What stands in the scan.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Intruder {
    /// The Sun.
    Sun,
    /// The Moon.
    Moon,
}

impl Intruder {
    /// Its name in a sentence.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sun => "the Sun",
            Self::Moon => "the Moon",
        }
    }
}

/// Phases of each cone that a body fills.
#[derive(Clone, Copy, Debug)]
pub struct Glare {
    who: Intruder,
    spans_rad: [Option<[f64; 2]>; 2],
}

impl Glare {
    /// Of a body in direction `towards` (body axes, length 1) that upsets the scan within `half_rad`; `None` if it
    /// is hidden by the Earth or off both cones.
    pub fn new(
        who: Intruder,
        towards: &Vector3<f64>,
        half_rad: f64,
        scan: &Scan,
        earth: &Earth,
        height_m: f64,
    ) -> Option<Self> {
        if half_rad <= 0.0 {
            return None;
        }
        let spans_rad = [0, 1].map(|cone| scan.span(cone, towards, half_rad));
        let seen = spans_rad.iter().any(Option::is_some) && earth.inside_m(towards, height_m) < 0.0;
        seen.then_some(Self { who, spans_rad })
    }

    /// Moves the edges that it touches; tells whose doing it was.
    pub fn spoil(&self, edges: &mut Edges) -> Option<Intruder> {
        let mut touched = false;
        for (cone, span) in self.spans_rad.iter().enumerate() {
            let Some([from, to]) = *span else { continue };
            let reach = 0.5 * (to - from);
            for (edge, outer) in [reach, -reach].into_iter().enumerate() {
                let off = (edges.phase_rad(cone, edge) - 0.5 * (from + to) + PI).rem_euclid(TAU) - PI;
                if off.abs() < reach {
                    edges.shift(cone, edge, outer - off);
                    touched = true;
                }
            }
        }
        touched.then_some(self.who)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const EARTH: Earth =
        Earth { position_m: Vector3::new(0.0, 0.0, -6.6e6), pole: Vector3::new(1.0, 0.0, 0.0), oblate: false };

    fn edges(scan: &Scan) -> Edges {
        scan.edges(&EARTH, &[[40e3; 2]; 2]).unwrap()
    }

    fn phases(edges: &Edges) -> [f64; 4] {
        [(0, 0), (0, 1), (1, 0), (1, 1)].map(|(cone, edge)| edges.phase_rad(cone, edge))
    }

    #[test]
    fn an_edge_goes_to_the_far_side_of_what_touches_it() {
        let scan = Scan::new(1.0);
        let clean = edges(&scan);
        let ahead = clean.phase_rad(0, 0);
        // One degree above the leading edge of the cone about +y.
        let towards = scan.direction(0, ahead + 0.02);
        let glare = Glare::new(Intruder::Sun, &towards, 0.05, &scan, &EARTH, 40e3).unwrap();
        let mut spoilt = clean;
        assert_eq!(glare.spoil(&mut spoilt), Some(Intruder::Sun));
        assert!((phases(&spoilt)[0] - (ahead + 0.02 + 0.05 / 1_f64.sin())).abs() < 1e-9);
        assert_eq!(phases(&spoilt)[1..], phases(&clean)[1..]);
        // A wider pulse on the +y side looks like the Earth there: positive roll, and nose down.
        let tilt = scan.down(&spoilt) - scan.down(&clean);
        assert!(tilt.y > 0.01 && tilt.x > 0.01, "{tilt}");
    }

    #[test]
    fn what_stands_clear_is_hidden_or_off_the_cone_does_nothing() {
        let scan = Scan::new(1.0);
        let ahead = edges(&scan).phase_rad(0, 0);
        let glare =
            |phase: f64, half_rad| Glare::new(Intruder::Moon, &scan.direction(0, phase), half_rad, &scan, &EARTH, 40e3);
        assert_eq!(glare(ahead + 0.2, 0.05).unwrap().spoil(&mut edges(&scan)), None);
        assert!(glare(ahead - 0.02, 0.05).is_none() && glare(ahead + 0.02, 0.0).is_none());
        let aside = (scan.direction(0, ahead + 0.02) + Vector3::y() * 0.2).normalize();
        assert!(Glare::new(Intruder::Moon, &aside, 0.05, &scan, &EARTH, 40e3).is_none());
    }
}
