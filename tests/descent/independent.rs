//! The descent integrated again by another method, on forces written down here anew: Dormand and Prince's eighth-order
//! pair (Hairer, Nørsett & Wanner, DOP853) of a general-purpose library.

use differential_equations::prelude::*;
use stillframe::descent::air::{Planet, Winds};
use stillframe::descent::dispersions::Off;
use stillframe::descent::fall::What;
use stillframe::descent::integrate::Closeness;
use stillframe::world::Vec3;
use stillframe::world::atmosphere::Atmosphere;
use stillframe::world::ellipsoid::Geodetic;
use stillframe::world::gravity::Zonal;

use crate::{made, model, near};

const GM: f64 = 3.986_004_418e14;
const J2: f64 = 1.082_626_683_553e-3;
const RADIUS_M: f64 = 6_378_137.0;
const TURN_RAD_S: f64 = 7.292_115e-5;

/// Position and velocity.
type State = [f64; 6];

struct Entry {
    mass_kg: f64,
    mach: Vec<f64>,
    area_m2: Vec<f64>,
    air: Atmosphere,
}

impl Entry {
    fn area_m2(&self, mach: f64) -> f64 {
        let last = self.mach.len() - 1;
        if mach >= self.mach[last] {
            return self.area_m2[last];
        }
        let k = (0..last).find(|k| mach < self.mach[k + 1]).expect("below the last");
        let share = (mach - self.mach[k]) / (self.mach[k + 1] - self.mach[k]);
        self.area_m2[k] * (1.0 - share) + self.area_m2[k + 1] * share
    }
}

impl ODE<f64, State> for Entry {
    fn diff(&self, _: f64, y: &State, dydt: &mut State) {
        let [x, yy, z, vx, vy, vz] = *y;
        let r2 = x * x + yy * yy + z * z;
        let r = r2.sqrt();
        // The textbook components of a point mass with J2 (Vallado, section 8.7.1).
        let k = 1.5 * J2 * RADIUS_M * RADIUS_M / r2;
        let s = 5.0 * z * z / r2;
        let pull = -GM / (r2 * r);
        let mut a =
            [pull * x * (1.0 + k * (1.0 - s)), pull * yy * (1.0 + k * (1.0 - s)), pull * z * (1.0 + k * (3.0 - s))];
        let height_m = Geodetic::from_cartesian(&Vec3::new(x, yy, z)).height_m;
        let air = self.air.state(height_m);
        let w = [vx + TURN_RAD_S * yy, vy - TURN_RAD_S * x, vz];
        let speed = (w[0] * w[0] + w[1] * w[1] + w[2] * w[2]).sqrt();
        let sound = (1.4 * air.pressure_pa / air.density_kg_m3).sqrt();
        let drag = 0.5 * air.density_kg_m3 * speed * self.area_m2(speed / sound) / self.mass_kg;
        for (a, w) in a.iter_mut().zip(w) {
            *a -= drag * w;
        }
        *dydt = [vx, vy, vz, a[0], a[1], a[2]];
    }
}

/// From burn-out to the firing of the drogue, 780 s and 4900 km on: the two agree to half a metre, where one sigma of
/// the footprint is 5 km at least. What is left is where either steps over the kinks of the standard's layers.
#[test]
fn another_method_comes_down_at_the_same_place() {
    let (mut model, at) = model();
    model.planet =
        Planet { gravity: Zonal { j3: 0.0, j4: 0.0, ..Zonal::EGM96 }, winds: Winds::new(&[]), ..Planet::standard() };
    let timers = made().descents.timers;
    let tight = Closeness { position_m: 1e-5, velocity_m_s: 1e-7, longest_s: 10.0 };
    let ours = model.fall(&at, &Off::default(), &timers, tight, true);
    let out = &ours.at(What::BurnOut).expect("burns out").at;
    let end = &ours.at(What::Drogue).expect("fires the drogue").at;
    let body = model.capsule.clone();
    let entry = Entry {
        mass_kg: body.mass_kg - body.motor_kg - body.retro.impulse_n_s / (body.retro.isp_s * 9.806_65),
        mach: body.mach,
        area_m2: body.drag_area_m2,
        air: Atmosphere::new(1.0),
    };
    let (r, v) = (out.position_m(), out.velocity_m_s());
    let start = [r.x, r.y, r.z, v.x, v.y, v.z];
    let method = ExplicitRungeKutta::dop853().rtol(1e-11).atol(1e-6).max_steps(1_000_000);
    let solution = IVP::ode(&entry, out.t_s, end.t_s, start).method(method).solve().expect("a smooth enough system");
    let y = solution.y.last().expect("an end");
    let miss_m = (Vec3::new(y[0], y[1], y[2]) - end.position_m()).norm();
    let miss_m_s = (Vec3::new(y[3], y[4], y[5]) - end.velocity_m_s()).norm();
    println!("{miss_m} m, {miss_m_s} m/s apart");
    near(miss_m, 0.0, 0.5);
    near(miss_m_s, 0.0, 0.01);
    // The control: without J2 it comes down kilometres away.
    model.planet.gravity = Zonal::POINT_MASS;
    let other = model.fall(&at, &Off::default(), &timers, tight, false);
    let other = other.at(What::Drogue).expect("fires the drogue").at.position_m();
    assert!((other - end.position_m()).norm() > 5_000.0);
}

/// The looser steps of the many descents cost metres, not kilometres.
#[test]
fn the_many_are_integrated_closely_enough() {
    let (model, at) = model();
    let timers = made().descents.timers;
    let place = |closeness: Closeness| {
        model.fall(&at, &Off::default(), &timers, closeness, false).at(What::Touchdown).expect("down").at.position_m()
    };
    let tight = place(Closeness { position_m: 1e-5, velocity_m_s: 1e-7, longest_s: 5.0 });
    let shown = (place(Closeness::SHOWN) - tight).norm();
    let counted = (place(Closeness::COUNTED) - tight).norm();
    println!("shown misses by {shown} m, counted by {counted} m");
    near(shown, 0.0, 0.5);
    // One sigma across the track is some 5 km.
    near(counted, 0.0, 25.0);
}
