//! Jets that can turn the vehicle either way about every axis.

use nalgebra::Vector3;
use stillframe_controller::io::MAX_JETS;

use crate::nitrogen::nozzle::greatest_specific_impulse_s;
use crate::scenario::Scenario;
use crate::scenario::parts::feed::Scheme;
use crate::scenario::parts::vehicle::Jet;
use crate::scenario::read::context::Context;

/// Torques below this are no authority, N·m.
const LEAST_TORQUE_N_M: f64 = 1e-6;

fn torque(jet: &Jet) -> Vector3<f64> {
    Vector3::from(jet.position_m).cross(&(Vector3::from(jet.unit_direction()) * jet.thrust_n))
}

pub(super) fn check(scenario: &Scenario, cx: &mut Context) {
    let torques: Vec<_> = scenario.jets.iter().map(torque).filter(|t| t.norm() > LEAST_TORQUE_N_M).collect();
    let mut told = false;
    for (axis, name) in [(Vector3::x(), "roll (x)"), (Vector3::y(), "pitch (y)"), (Vector3::z(), "yaw (z)")] {
        for (sign, word) in [(1.0, "positive"), (-1.0, "negative")] {
            if !torques.iter().any(|t| t.dot(&axis) * sign > LEAST_TORQUE_N_M) {
                refuse(&format!("{word} {name}"), cx);
                told = true;
            }
        }
    }
    if told {
        return;
    }
    impulse(scenario, cx);
    if let Some(out) = unreachable(&torques) {
        let [x, y, z] = [out.x, out.y, out.z].map(|part| (part * 100.0).round() / 100.0 + 0.0);
        refuse(&format!("[{x}, {y}, {z}]"), cx);
    }
}

/// Where thrust and flow follow from the gas, no jet may give more than the gas holds.
fn impulse(scenario: &Scenario, cx: &mut Context) {
    let greatest_s = greatest_specific_impulse_s(scenario.tank.temperature_k);
    if scenario.feed.scheme == Scheme::Constant {
        return;
    }
    for (place, jet) in scenario.jets.iter().enumerate().filter(|(_, jet)| jet.specific_impulse_s > greatest_s) {
        let key = format!("jet[{}].specific_impulse_s", place + 1);
        let message = format!("{key} = {} is more than nitrogen can give", jet.specific_impulse_s);
        let help = "All the heat of the gas turned into speed, in a nozzle without end, gives that; 65 to 70 s are \
                    usual. Warmer gas gives more, with the root of its temperature (tank.temperature_c).";
        cx.refuse(&key, message, format!("allowed: up to {greatest_s:.1} s"), help);
    }
}

fn refuse(direction: &str, cx: &mut Context) {
    let message = format!("no jets give torque in the direction {direction}");
    let help = format!(
        "Torque of a jet is position × direction × thrust. With at most {MAX_JETS} jets, both signs must be \
         possible about every axis together; add jets or turn some around."
    );
    cx.refuse("jet", message, "the jets must be able to turn the vehicle any way", help);
}

/// A direction in which no non-negative mixture of the torques reaches, if there is one.
///
/// Vectors of full rank fail to span space by non-negative mixtures only if all lie on one side of a
/// plane; that plane can be moved until it holds two of them, so only pairs need be tried.
fn unreachable(torques: &[Vector3<f64>]) -> Option<Vector3<f64>> {
    let units: Vec<_> = torques.iter().map(|torque| torque.normalize()).collect();
    let mut rank_three = false;
    for (index, first) in units.iter().enumerate() {
        for second in units.iter().skip(index + 1) {
            let Some(normal) = first.cross(second).try_normalize(1e-9) else {
                continue;
            };
            let reach = |side: f64| units.iter().any(|unit| unit.dot(&normal) * side > 1e-9);
            match (reach(1.0), reach(-1.0)) {
                (true, true) => rank_three = true,
                (false, _) => return Some(normal),
                (_, false) => return Some(-normal),
            }
        }
    }
    (!rank_three).then(Vector3::x)
}
