//! Entry and deorbit where closed forms hold, with the program's own integrator in other surroundings.

use stillframe::descent::air::{Air, Surroundings};
use stillframe::descent::casualty::casualty_area_m2;
use stillframe::descent::fall::{Body, End, Fall, Faller, Moment, What};
use stillframe::descent::heating::flux_w_m2;
use stillframe::descent::integrate::{Closeness, Point};
use stillframe::descent::recovery::{Canopies, Chute, Timers};
use stillframe::descent::retro::{Burn, G0, ideal_speed_m_s};
use stillframe::scenario::parts::capsule::Retro;
use stillframe::world::Vec3;

use crate::{close, near};

/// A flat Earth that neither turns nor pulls, in air that thins by a power of e in each `scale_m`: where Allen and
/// Eggers' solution is exact.
struct Flat {
    sea_kg_m3: f64,
    scale_m: f64,
}

impl Surroundings for Flat {
    fn height_m(&self, position_m: &Vec3) -> f64 {
        position_m.z
    }

    fn gravity_m_s2(&self, _: &Vec3) -> Vec3 {
        Vec3::zeros()
    }

    fn air(&self, _: &Vec3, height_m: f64) -> Air {
        let density_kg_m3 = self.sea_kg_m3 * (-height_m / self.scale_m).exp();
        Air { density_kg_m3, sound_m_s: 300.0, velocity_m_s: Vec3::zeros() }
    }
}

/// A ball of 6378.137 km in empty space.
struct Ball;

const RADIUS_M: f64 = 6_378_137.0;
const GM: f64 = 3.986_004_418e14;

impl Surroundings for Ball {
    fn height_m(&self, position_m: &Vec3) -> f64 {
        position_m.norm() - RADIUS_M
    }

    fn gravity_m_s2(&self, position_m: &Vec3) -> Vec3 {
        position_m * (-GM / position_m.norm().powi(3))
    }

    fn air(&self, _: &Vec3, _: f64) -> Air {
        Air { density_kg_m3: 0.0, sound_m_s: 300.0, velocity_m_s: Vec3::zeros() }
    }
}

fn motor(impulse_n_s: f64) -> Retro {
    Retro {
        impulse_n_s,
        isp_s: 230.0,
        burn_s: 0.01,
        curve_share: vec![0.0, 1.0],
        curve_thrust: vec![1.0, 1.0],
        offset_m: 0.0,
    }
}

/// A body of 100 kg and this ballistic coefficient, without canopies that open.
fn flown(
    surroundings: &impl Surroundings,
    beta_kg_m2: f64,
    retro: &Retro,
    axis: Vec3,
    start: Point,
    step_s: f64,
) -> Fall {
    let body = Body {
        start_kg: 100.0,
        entry_kg: 100.0 - Burn::new(retro, 1.0).used_kg(f64::INFINITY),
        canopy_kg: 100.0,
        nose_radius_m: 0.3,
        mach: vec![0.0],
        drag_area_m2: vec![100.0 / beta_kg_m2],
        burn: Burn::new(retro, 1.0),
        thrust: axis,
    };
    let chute = Chute { drag_area_m2: 1.0, fill_s: 1.0, most_mach: 1.0, most_pressure_pa: 1.0 };
    let canopies = Canopies { g_switch: f64::INFINITY, drogue: chute, main: chute };
    let timers = Timers::default();
    let closeness = Closeness { position_m: 1e-5, velocity_m_s: 1e-7, longest_s: step_s };
    let faller = Faller { surroundings, body: &body, canopies: &canopies, timers: &timers, closeness, rows: true };
    faller.fall(start)
}

/// Value, speed and height at the top of a curve: a parabola through the highest row and its neighbours.
fn top(fall: &Fall, of: fn(&Moment) -> f64) -> (f64, f64, f64) {
    let rows = &fall.rows;
    let i = (1..rows.len() - 1).max_by(|a, b| of(&rows[*a]).total_cmp(&of(&rows[*b]))).expect("rows");
    let [a, b, c] = [&rows[i - 1], &rows[i], &rows[i + 1]];
    let (x0, x2) = (a.at.t_s - b.at.t_s, c.at.t_s - b.at.t_s);
    let (y0, y2) = (of(a) - of(b), of(c) - of(b));
    let curve = (y0 / x0 - y2 / x2) / (x0 - x2);
    let x = -(y0 / x0 - curve * x0) / (2.0 * curve);
    let side = if x < 0.0 { a } else { c };
    let part = x / (side.at.t_s - b.at.t_s);
    let between = |of: fn(&Moment) -> f64| of(b) + part * (of(side) - of(b));
    (of(b) - curve * x * x, between(|m| m.speed_m_s), between(|m| m.height_m))
}

const FOOT_M: f64 = 0.3048;

/// Allen & Eggers, NACA Report 1381 (1958), their iron sphere of one foot at 30,000 ft/s straight down through air of
/// 0.0034 slug/ft³ and a scale height of 22,000 ft: V² sin γ/(2 e H) = 233.878 g, at 43,865 ft, at e^(−1/2) of the
/// entry speed; most heat at e^(−1/6) of it.
#[test]
fn allen_and_eggers_iron_sphere() {
    let entry_m_s = 30_000.0 * FOOT_M;
    let slug_ft3 = 14.593_902_937 / FOOT_M.powi(3);
    let flat = Flat { sea_kg_m3: 0.003_4 * slug_ft3, scale_m: 22_000.0 * FOOT_M };
    let start = Point::new(0.0, &Vec3::new(0.0, 0.0, 250_000.0), &Vec3::new(0.0, 0.0, -entry_m_s), 0.0);
    let fall = flown(&flat, 1_599.996_8, &motor(1e-9), Vec3::x(), start, 0.01);
    assert_eq!(fall.end, End::Down);
    let (most_g, speed_m_s, height_m) = top(&fall, |m| m.g);
    println!("{most_g} g, {} V_E, {} ft", speed_m_s / entry_m_s, height_m / FOOT_M);
    close(most_g, 233.878_143_685_8, 1e-5);
    close(fall.most_g.value, 233.878_143_685_8, 1e-5);
    // Between steps of 10 ms speed bends by 0.1 m/s.
    close(speed_m_s / entry_m_s, 0.606_530_659_712_6, 1e-4);
    near(height_m / FOOT_M, 43_865.001_857_21, 2.0);
    let (_, hottest_m_s, _) = top(&fall, |m| m.flux_w_m2);
    close(hottest_m_s / entry_m_s, 0.846_481_724_890_6, 1e-4);
    // The control: half the air moves the top by H ln 2 and leaves its height in g alone.
    let thin = Flat { sea_kg_m3: 0.5 * flat.sea_kg_m3, ..flat };
    let fall = flown(&thin, 1_599.996_8, &motor(1e-9), Vec3::x(), start, 0.01);
    let (thin_g, _, thin_m) = top(&fall, |m| m.g);
    close(thin_g, most_g, 1e-5);
    near(height_m - thin_m, 22_000.0 * FOOT_M * 2.0_f64.ln(), 2.0);
}

/// The same law at 7800 m/s and 5°, scale height 7 km: 14.2082967986 g, whatever the ballistic coefficient.
#[test]
fn allen_and_eggers_five_degrees() {
    let flat = Flat { sea_kg_m3: 1.225, scale_m: 7_000.0 };
    let (s, c) = 5.0_f64.to_radians().sin_cos();
    for beta in [60.0, 110.0, 400.0] {
        let start = Point::new(0.0, &Vec3::new(0.0, 0.0, 180_000.0), &(Vec3::new(c, 0.0, -s) * 7_800.0), 0.0);
        let fall = flown(&flat, beta, &motor(1e-9), Vec3::x(), start, 0.1);
        let (most_g, speed_m_s, height_m) = top(&fall, |m| m.g);
        close(most_g, 14.208_296_798_6, 1e-5);
        close(speed_m_s / 7_800.0, 0.606_530_659_712_6, 1e-4);
        near(height_m, 7_000.0 * (1.225 * 7_000.0 / (beta * s)).ln(), 2.0);
    }
}

/// k √(ρ/R) V³ with k = 1.7415e-4 (Sutton & Graves, NASA TR R-376): 844758.55 W/m².
#[test]
fn sutton_and_graves() {
    close(flux_w_m2(1e-4, 0.5, 7_000.0), 844_758.551_173_4, 1e-9);
}

/// √(2 m g/(ρ C_D A)): 80 kg under 40 m² at sea level.
#[test]
fn steady_speed_under_a_canopy() {
    let chute = Chute { drag_area_m2: 40.0, fill_s: 1.0, most_mach: 1.0, most_pressure_pa: 1.0 };
    close(chute.steady_m_s(80.0, G0, 1.225), 5.658_773_213_844, 1e-9);
}

/// (0.6 + √1 m²)² = 2.56 m².
#[test]
fn casualty_area() {
    close(casualty_area_m2(1.0), 2.56, 1e-12);
}

fn circular(height_m: f64) -> (Vec3, Vec3) {
    let r = RADIUS_M + height_m;
    (Vec3::new(r, 0.0, 0.0), Vec3::new(0.0, (GM / r).sqrt(), 0.0))
}

/// From a circle at 200 km, vis-viva: 41.976026 m/s straight back lower the perigee to 60 km, 60.314689 m/s to 0. Given
/// by a burn of 10 ms, through thrust, mass and exhaust speed.
#[test]
fn deorbit_impulse() {
    for (speed_m_s, perigee_m) in [(41.976_025_949_11, 60_000.0), (60.314_689_094_84, 0.0)] {
        let (r, v) = circular(200_000.0);
        let exhaust_m_s = 230.0 * G0;
        let propellant_kg = 100.0 * (1.0 - (-speed_m_s / exhaust_m_s).exp());
        close(ideal_speed_m_s(230.0, 100.0, propellant_kg), speed_m_s, 1e-12);
        let retro = motor(propellant_kg * exhaust_m_s);
        let fall = flown(&Ball, 100.0, &retro, -Vec3::y(), Point::new(0.0, &r, &v, 0.0), 1.0);
        let lowest_m = fall.rows.iter().map(|m| m.height_m).fold(f64::INFINITY, f64::min);
        // A perigee moves by 3.3 km for 1 m/s: 0.3 m is a tenth of a millimetre a second. The burn is 10 ms long and its
        // direction fixed, which costs 60 m/s × 4e-6 rad.
        near(lowest_m, perigee_m, 0.3);
    }
}

/// A retro of 100 m/s at 200 km, by conservation laws: at 120 km 7780.737038 m/s, −1.25708252275°.
#[test]
fn speed_and_angle_at_the_interface() {
    let (r, v) = circular(200_000.0);
    let start = Point::new(0.0, &r, &(v * (1.0 - 100.0 / v.norm())), 0.0);
    let fall = flown(&Ball, 100.0, &motor(1e-9), Vec3::x(), start, 30.0);
    let entry = fall.at(What::Interface).expect("passes 120 km");
    close(entry.inertial_m_s, 7_780.737_038_117, 1e-9);
    near(entry.inertial_angle_rad.to_degrees(), -1.257_082_522_75, 1e-7);
}

/// Without air, a Keplerian arc: energy, momentum and the closed period.
#[test]
fn an_arc_without_air_is_keplers() {
    let (r, v) = circular(200_000.0);
    let start = Point::new(0.0, &r, &(v * 1.001), 0.0);
    let fall = flown(&Ball, 100.0, &motor(1e-9), Vec3::x(), start, 5.0);
    assert_eq!(fall.end, End::Up);
    let of = |m: &Moment| {
        let (r, v) = (m.at.position_m(), m.at.velocity_m_s());
        (0.5 * v.norm_squared() - GM / r.norm(), r.cross(&v).norm())
    };
    let (first, last) = (of(&fall.rows[0]), of(&fall.last));
    close(last.0, first.0, 1e-11);
    close(last.1, first.1, 1e-11);
    let period_s = std::f64::consts::TAU * ((-0.5 * GM / first.0).powi(3) / GM).sqrt();
    let phase = |m: &Moment| m.at.position_m().y.atan2(m.at.position_m().x);
    // Twice past the start: where it crosses y = 0 from below for the second time.
    let turns = fall.rows.windows(2).filter(|w| phase(&w[0]) < 0.0 && phase(&w[1]) >= 0.0);
    let times: Vec<f64> = turns
        .map(|w| w[0].at.t_s + (w[1].at.t_s - w[0].at.t_s) * -phase(&w[0]) / (phase(&w[1]) - phase(&w[0])))
        .collect();
    near(times[1] - times[0], period_s, 1e-3);
}
