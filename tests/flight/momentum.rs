//! The momentum balance of the demonstration's day, closed from outside the plant's own ledger.
//!
//! The plant tells attitude, rates, inertia, film momentum, torques from outside, and how many newton-seconds each
//! jet's gas has taken along. Everything else, arms, turning into inertial axes, quadrature, is done here.

use nalgebra::{Matrix3, UnitQuaternion, Vector3};
use stillframe::{
    flight::closed_loop::ClosedLoop,
    plant::{Truth, jets::JetParameters},
    scenario::demo::Demo,
};

use crate::rig::Rig;

/// Attitude as a rotation from body to inertial axes, and rates.
fn pose(truth: &Truth) -> (UnitQuaternion<f64>, Vector3<f64>) {
    let [w, x, y, z] = truth.state.q;
    (UnitQuaternion::from_quaternion(nalgebra::Quaternion::new(w, x, y, z)), Vector3::from(truth.state.w))
}

/// Body and film, inertial axes, N·m·s. The film turns about body y.
fn momentum_nms(flight: &mut ClosedLoop, with_film: bool) -> Vector3<f64> {
    let (turned, rate_rad_s) = pose(&flight.plant.truth());
    let inertia: Matrix3<f64> = flight.plant.mass().inertia_kg_m2;
    let film_nms = if with_film { flight.plant.film().momentum_nms() } else { 0.0 };
    turned * (inertia * rate_rad_s + Vector3::y() * film_nms)
}

/// Torque of one newton of a jet about the centre of mass: nozzle, less what its plume leaves elsewhere.
fn arm_m(jet: &JetParameters, centre_m: &Vector3<f64>) -> Vector3<f64> {
    let nozzle = (jet.position_m - centre_m).cross(&jet.push);
    nozzle - jet.plume_share * (jet.plume_on_m - centre_m).cross(&jet.push)
}

struct Books {
    start_nms: Vector3<f64>,
    jets_nms: Vector3<f64>,
    outside_nms: Vector3<f64>,
    through_nms: f64,
    impulses_ns: Vec<f64>,
    /// Ticks for which plenums may still be emptying.
    tails: u32,
}

impl Books {
    /// After each tick.
    fn enter(&mut self, flight: &mut ClosedLoop) {
        let plant = &mut flight.plant;
        let tick = plant.ticks();
        let moves = plant.flowing() != 0 || !plant.flow_edges.is_empty();
        self.tails = if moves { 10 } else { self.tails.saturating_sub(1) };
        if self.tails > 0 {
            // Brings the body, and with it the impulses, up to the tick's end.
            let pose_now = pose(&plant.truth());
            self.enter_jets(flight, pose_now);
        }
        // The attitude at the middle of each second stands for all of it: (ω·1 s)²/24 of the outside impulse.
        if tick % 100 == 50 {
            let truth = flight.plant.truth();
            let impulse_nms = pose(&truth).0 * truth.torques.sum_nm();
            self.outside_nms += impulse_nms;
            self.through_nms += impulse_nms.norm();
        }
    }

    fn enter_jets(&mut self, flight: &ClosedLoop, (turned, rate_rad_s): (UnitQuaternion<f64>, Vector3<f64>)) {
        let plant = &flight.plant;
        let centre_m = plant.mass().centre_m;
        for (jet, built) in plant.jets().parameters().iter().enumerate() {
            let fresh_ns = plant.jets().impulses_ns()[jet] - self.impulses_ns[jet];
            if fresh_ns == 0.0 {
                continue;
            }
            self.impulses_ns[jet] += fresh_ns;
            // In the tick gas flowed from one edge to the other, or to an end of the tick; decays are ten times
            // shorter than a tick.
            let edge_s = |on| plant.flow_edges.iter().find(|e| e.jet == jet && e.on == on).map(|e| e.at_s);
            let middle_s = 0.5 * (edge_s(true).unwrap_or(0.0) + edge_s(false).unwrap_or(0.01));
            let body_nms = arm_m(built, &centre_m) * fresh_ns;
            let impulse_nms = turned * (body_nms + rate_rad_s.cross(&body_nms) * (middle_s - 0.01));
            self.jets_nms += impulse_nms;
            self.through_nms += impulse_nms.norm();
        }
    }

    fn left_over_nms(&self, now_nms: &Vector3<f64>) -> f64 {
        (now_nms - self.start_nms - self.jets_nms - self.outside_nms).norm()
    }
}

/// Seconds of a core for a day: long for a test, but a balance that closes over a pulse may still drift over a day.
#[test]
fn momentum_changes_by_what_jets_and_surroundings_gave_and_nothing_else() {
    let mut rig = Rig::new(Demo::Strip.text());
    let start_nms = momentum_nms(&mut rig.flight, true);
    let jets = rig.flight.plant.jets().parameters().len();
    let mut books = Books {
        start_nms,
        jets_nms: Vector3::zeros(),
        outside_nms: Vector3::zeros(),
        through_nms: start_nms.norm(),
        impulses_ns: vec![0.0; jets],
        tails: 0,
    };
    let (mut worst, mut worst_without_film) = (0.0_f64, 0.0_f64);
    rig.watch(86_400.0, |flight, _| {
        books.enter(flight);
        if flight.plant.ticks() % 100 == 0 {
            let residual = |with_film, flight: &mut ClosedLoop| books.left_over_nms(&momentum_nms(flight, with_film));
            worst = worst.max(residual(true, flight));
            if !flight.plant.film().asleep() {
                worst_without_film = worst_without_film.max(residual(false, flight));
            }
        }
    });
    let through_nms = books.through_nms;
    let jets_nms = books.jets_nms.norm();
    println!("{} of {through_nms} N·m·s", worst / through_nms);
    assert!(through_nms > 50.0 && jets_nms > 1.0, "{through_nms} {jets_nms}");
    assert!(worst / through_nms < 1e-6, "{} of {through_nms}", worst / through_nms);
    // The film's own momentum, 0.02 N·m·s, is seen a hundred times over; jets left out would be everything.
    assert!(worst_without_film / through_nms > 1e-4, "{worst_without_film}");
}
