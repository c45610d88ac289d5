//! Limit cycles in closed form.
//!
//! Formulae and the example of ±0.5°, 112.5 kg·m², 2 × 5 N on 0.5 m, 30 ms: *Space Propulsion* lecture notes of
//! TU Wien, pp. 76–83 (26.21 s; its 1.2e-5 kg/s charges two firings to one traverse, an event simulation gives
//! 6.02e-6). The other figures follow from the same formulae, and an independent event simulation agrees with
//! them.

use stillframe::design::attitude::limit_cycle::{AxisJets, switching_angle_rad};

const DAY_S: f64 = 86_400.0;
const JETS: AxisJets = AxisJets { inertia_kg_m2: 1500.0, torque_nm: 0.75, lever_m: 0.75, specific_impulse_s: 70.0 };

#[track_caller]
fn is(value: f64, wanted: f64) {
    // Closed forms in doubles; the figures carry ten digits and more.
    assert!((value / wanted - 1.0).abs() < 1e-9, "{value} for {wanted}");
}

#[test]
fn the_free_symmetric_cycle() {
    let free = JETS.free(0.5_f64.to_radians(), 0.02);
    is(free.impulse_nms, 0.015);
    is(free.rate_rad_s.to_degrees(), 0.000_286_478_897_565_4);
    is(free.quiet_s, 3_490.658_503_989);
    is(free.period_s - 2.0 * 0.02, 6_981.317_007_977);
    is(free.gas_kg_s * DAY_S, 0.000_721_136_801_475_1);
    is(2.0 * 0.02 / (free.period_s - 2.0 * 0.02), 5.729_577_951_308e-6);
}

#[test]
fn free_cycles_of_unequal_drifts_cost_what_their_crossings_do() {
    let free = JETS.free(0.5_f64.to_radians(), 0.02);
    let (step_rad_s, travel_rad) = (0.015 / 1500.0, 2.0 * 0.5_f64.to_radians());
    for share in [0.5, 0.3, 0.1] {
        // Crossing after crossing: there at one drift, back at the other; two pulses in all.
        let (there_s, back_s) = (travel_rad / (share * step_rad_s), travel_rad / ((1.0 - share) * step_rad_s));
        let wanted_kg_s = 2.0 * 0.015 / (there_s + back_s) / (0.75 * 70.0 * 9.806_65);
        let mean_rad_s = 2.0 * travel_rad / (there_s + back_s);
        is(free.gas_at_drift_kg_s(mean_rad_s), wanted_kg_s);
    }
}

#[test]
fn the_lecture_example_with_one_firing_for_each_traverse() {
    let jets = AxisJets { inertia_kg_m2: 112.5, torque_nm: 5.0, lever_m: 0.5, specific_impulse_s: 1900.0 / 9.806_65 };
    let free = jets.free(0.5_f64.to_radians(), 0.03);
    // Source figures to 1e-6.
    assert!((0.5 * free.period_s / 26.209_938_779_91 - 1.0).abs() < 1e-6, "{}", free.period_s);
    assert!((free.gas_kg_s / 6.024_231_424_878e-6 - 1.0).abs() < 2e-3, "{}", free.gas_kg_s);
    // With the pulse counted into the traverse the figure is met.
    let with_pulse_kg_s = 2.0 * free.impulse_nms / free.period_s * jets.kg_per_nms();
    let without_kg_s = free.gas_kg_s;
    assert!((with_pulse_kg_s / 6.024_231e-6 - 1.0).abs() < 2e-3 && with_pulse_kg_s < without_kg_s);
}

#[test]
fn the_one_sided_cycle() {
    let cycle = JETS.one_sided(2e-5, 0.015);
    is(cycle.period_s, 750.0);
    is(cycle.excursion_rad.to_degrees(), 0.053_714_793_293_51);
    is(cycle.gas_kg_s * DAY_S, 0.003_356_323_078_144);
    is(0.02 / cycle.period_s, 2.666_666_666_667e-5);
    is(JETS.least_one_sided_nm(0.5_f64.to_radians(), 0.015), 1.074_295_865_87e-6);
    // The pulse for a wanted excursion is the inverse of the excursion of a pulse.
    is(JETS.impulse_for(2e-5, cycle.excursion_rad), 0.015);
    assert_eq!(JETS.one_sided(-2e-5, 0.015), cycle);
}

#[test]
fn rate_moves_the_point_of_switching() {
    let rate_rad_s = JETS.free(0.5_f64.to_radians(), 0.02).rate_rad_s;
    is(switching_angle_rad(0.5_f64.to_radians(), 5.0, rate_rad_s).to_degrees(), 0.498_567_605_512_2);
}

#[test]
fn half_a_newton_metre_second_in_each_of_a_hundred_orbits() {
    is(0.5 * 100.0 * JETS.kg_per_nms(), 0.097_115_829_807_42);
}
