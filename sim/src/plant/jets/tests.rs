use super::*;
use crate::{noise::NoiseSource, plant::gas::Tank};
use nalgebra::Vector3;

/// A jet as drawn.
pub(super) fn drawn() -> JetParameters {
    JetParameters {
        name: "pitch up".into(),
        bank: 0,
        position_m: Vector3::new(-1.2, 0.0, 0.0),
        push: Vector3::z(),
        thrust_n: 0.5,
        specific_impulse_s: 68.0,
        open_delay_s: 0.004,
        close_delay_s: 0.006,
        jitter_s: 0.0,
        minimum_pulse_s: 0.01,
        plenum_kg: 0.0,
        tail_share: 2.0 / 2.4,
        plume_share: 0.0,
        plume_on_m: Vector3::zeros(),
        jitter: NoiseSource::new(0, 0, "", 0),
    }
}

fn jets(parameters: Vec<JetParameters>) -> Jets {
    Jets::new(parameters, FeedParameters::default())
}

fn command(open_us: Option<u16>, close_us: Option<u16>) -> [Edges; MAX_JETS] {
    let mut all = [Edges::NONE; MAX_JETS];
    all[0] = Edges { open_us, close_us };
    all
}

/// Jets flown by themselves: a tick at a time, cut at the events.
struct Stand {
    jets: Jets,
    tank: Tank,
    latch_open: [bool; BANKS],
    edges: Vec<FlowEdge>,
    /// Impulse about +y, N·m·s, and what it has turned per kg·m², N·m·s².
    impulse_nms: f64,
    lever_nms2: f64,
}

impl Stand {
    fn new(jets: Jets) -> Self {
        let mut stand = Self {
            jets,
            tank: Tank::new(0.018, 4.0, 293.15),
            latch_open: [true; BANKS],
            edges: vec![],
            impulse_nms: 0.0,
            lever_nms2: 0.0,
        };
        // Latches open, lines fill.
        stand.jets.set_supply(stand.tank.pressure_pa(), stand.tank.temperature_k());
        (0..100).for_each(|_| stand.tick(command(None, None)));
        (stand.impulse_nms, stand.lever_nms2) = (0.0, 0.0);
        stand
    }

    fn stretch(&mut self, dt_s: f64) {
        let push = self.jets.advance(dt_s, &mut self.tank, &Vector3::zeros());
        self.lever_nms2 += self.impulse_nms * dt_s + (0.5 * push.torque_nm.y - push.growth_nm.y / 12.0) * dt_s * dt_s;
        self.impulse_nms += push.torque_nm.y * dt_s;
    }

    fn tick(&mut self, commands: [Edges; MAX_JETS]) {
        let mut events = Vec::new();
        self.jets.tick(&commands, self.latch_open, &mut events);
        let mut from_s = 0.0;
        for event in &events {
            self.stretch(event.at_s() - from_s);
            from_s = event.at_s();
            self.jets.apply(event);
        }
        self.stretch(TICK_S - from_s);
        self.edges = events.iter().filter_map(Event::edge).collect();
    }

    /// One pulse of the valve, whole ticks, and a second after it; gives impulse and gas.
    fn pulse(&mut self, ticks: u32) -> (f64, f64) {
        let (impulse_nms, used_kg) = (self.impulse_nms, self.tank.used_kg());
        self.tick(command(Some(0), None));
        (1..ticks).for_each(|_| self.tick(command(None, None)));
        self.tick(command(None, Some(0)));
        (0..100).for_each(|_| self.tick(command(None, None)));
        (self.impulse_nms - impulse_nms, self.tank.used_kg() - used_kg)
    }
}

#[test]
fn delays_move_both_edges_and_may_carry_them_into_the_next_tick() {
    let mut stand = Stand::new(jets(vec![drawn()]));
    stand.tick(command(Some(0), None));
    assert_eq!(stand.edges, [FlowEdge { at_s: 0.004, jet: 0, on: true }]);
    stand.tick(command(None, Some(7_000)));
    assert!(stand.edges.is_empty() && stand.jets.flowing() == 1);
    stand.tick(command(None, None));
    assert_eq!(stand.edges.len(), 1);
    assert!(!stand.edges[0].on && (stand.edges[0].at_s - 0.003).abs() < 1e-12);
    assert_eq!(stand.jets.flowing(), 0);
    // Open from 4 to 23 ms: 19 ms of 0.5 N on 1.2 m.
    assert!((stand.impulse_nms - 0.019 * 0.6).abs() < 1e-15, "{}", stand.impulse_nms);
    assert!((stand.jets.on_times_s().sum::<f64>() - 0.019).abs() < 1e-15);
}

#[test]
fn a_stuck_open_valve_flows_until_its_latch_shuts() {
    let mut stand = Stand::new(jets(vec![drawn()]));
    stand.jets.set_fault(0, Some(JetFault::StuckOpen));
    stand.tick(command(None, None));
    assert_eq!(stand.edges, [FlowEdge { at_s: 0.0, jet: 0, on: true }]);
    assert_eq!(stand.jets.flowing(), 1);
    stand.latch_open = [false, true];
    stand.tick(command(None, None));
    assert_eq!(stand.edges, [FlowEdge { at_s: 0.0, jet: 0, on: false }]);
    assert_eq!(stand.jets.flowing(), 0);
}

#[test]
fn a_latch_that_shuts_stops_every_jet_behind_it_after_its_own_delay() {
    for delay_s in [0.0, 0.013] {
        let feed = FeedParameters { latch_delay_s: delay_s, ..FeedParameters::default() };
        let mut stand = Stand::new(Jets::new(vec![drawn(), drawn()], feed));
        let mut open = command(Some(0), None);
        open[1] = open[0];
        stand.tick(open);
        assert_eq!(stand.jets.flowing(), 0b11);
        stand.latch_open = [false, true];
        let mut shut_s = vec![];
        for tick in 0..3 {
            stand.tick(command(None, None));
            shut_s.extend(stand.edges.iter().map(|edge| 0.01 * f64::from(tick) + edge.at_s));
        }
        assert!(shut_s.len() == 2 && shut_s.iter().all(|at_s| (at_s - delay_s).abs() < 1e-12), "{shut_s:?}");
    }
}

#[test]
fn a_stuck_closed_valve_never_flows() {
    let mut stand = Stand::new(jets(vec![drawn()]));
    stand.jets.set_fault(0, Some(JetFault::StuckClosed));
    stand.tick(command(Some(0), None));
    assert!(stand.edges.is_empty() && stand.jets.flowing() == 0);
}

#[test]
fn crossed_wires_open_the_other_jet_and_crossing_them_again_sets_them_right() {
    let mut stand = Stand::new(jets(vec![drawn(), drawn()]));
    stand.jets.cross_wires(0, 1);
    stand.tick(command(Some(0), Some(8_000)));
    assert!(stand.edges.iter().all(|edge| edge.jet == 1) && !stand.edges.is_empty());
    stand.jets.cross_wires(0, 1);
    (0..3).for_each(|_| stand.tick(command(None, None)));
    stand.tick(command(Some(0), Some(8_000)));
    assert!(stand.edges.iter().any(|edge| edge.jet == 0 && edge.on));
}

#[test]
fn a_slow_valve_shuts_later_and_a_high_regulator_pushes_harder() {
    let mut stand = Stand::new(jets(vec![drawn()]));
    stand.jets.set_late(0, [0.0, 0.02]);
    let mut shut_s = 0.0;
    for tick in 0..5 {
        stand.tick(if tick == 0 { command(Some(0), Some(8_000)) } else { command(None, None) });
        if let Some(edge) = stand.edges.iter().find(|edge| !edge.on) {
            shut_s = 0.01 * f64::from(tick) + edge.at_s;
        }
    }
    // Told at 8 ms, 6 ms of its own, 20 ms late.
    assert!((shut_s - 0.034).abs() < 1e-12, "{shut_s}");
    stand.jets.set_late(0, [0.0; 2]);
    let (rated_nms, rated_kg) = stand.pulse(2);
    stand.jets.set_pressure_share(1.5);
    let (high_nms, high_kg) = stand.pulse(2);
    assert!((high_nms / rated_nms - 1.5).abs() < 1e-12 && (high_kg / rated_kg - 1.5).abs() < 1e-12);
}

#[test]
fn a_leaking_seat_pushes_by_its_flow_until_its_latch_shuts() {
    // 0.01 g/s at 68 s: 6.668522 mN, on an arm of 1.2 m.
    let mut stand = Stand::new(jets(vec![drawn()]));
    let push = stand.jets.leak(&[1e-5], &Vector3::zeros());
    assert!((push.torque_nm.y - 1.2 * 6.668_522e-3).abs() < 1e-9 && push.flow_kg_s == 1e-5);
    stand.latch_open = [false; BANKS];
    stand.tick(command(None, None));
    assert_eq!(stand.jets.leak(&[1e-5], &Vector3::zeros()), Push::default());
}

#[test]
fn torque_is_arm_across_force_about_the_centre_of_mass() {
    let mut stand = Stand::new(jets(vec![drawn()]));
    stand.tick(command(Some(0), None));
    let push = stand.jets.push(&Vector3::new(0.1, 0.0, 0.0));
    assert!((push.torque_nm - Vector3::new(0.0, 0.65, 0.0)).norm() < 1e-12);
    assert!((push.flow_kg_s - 0.5 / (68.0 * 9.80665)).abs() < 1e-15);
}

/// 290 mm³ at 0.4 MPa: 1.778 ms (see `nitrogen::nozzle`).
fn with_plenum() -> JetParameters {
    drawn().with_plenum(290e-9, 0.4e6, 293.15)
}

#[test]
fn a_pulse_delivers_what_its_closed_form_says_and_its_middle_comes_later() {
    const TAU_S: f64 = 1.778e-3;
    let mut stand = Stand::new(jets(vec![with_plenum()]));
    let (impulse_nms, used_kg) = stand.pulse(2);
    // Open for 22 ms: by hand, 0.6·(22 − 1.778/6·(1 − e^−12.4)) ms.
    let expected_nms = 0.6 * (0.022 - TAU_S / 6.0);
    assert!((impulse_nms / expected_nms - 1.0).abs() < 3e-5, "{impulse_nms} {expected_nms}");
    // Every gram that passed the valve leaves the nozzle: flow times time, as without a plenum.
    assert!((used_kg - 0.022 * 0.5 / (68.0 * 9.806_65)).abs() < 1e-14);
    // Middle of the impulse, from the command: at 15 ms without plenum; by the integrals of the two exponentials
    // F·(t²/2 − τ²) and F·ητ·(t + ητ), over the impulse.
    let (t, tail) = (0.022, TAU_S / 1.2);
    let moment = 0.5 * t * t - TAU_S * TAU_S + tail * (t + tail);
    let middle_s = 0.004 + moment / (t - TAU_S / 6.0);
    let end_s = 1.03;
    let found_s = end_s - stand.lever_nms2 / stand.impulse_nms;
    assert!((found_s - middle_s).abs() < 1e-6, "{found_s} {middle_s}");
    assert!((middle_s - 0.015).abs() > 1e-3, "without the plenum it would be 15 ms");
    assert!(stand.tank.imbalance_kg().abs() < 1e-15);
}

#[test]
fn short_pulses_have_less_specific_impulse() {
    let specific_s = |parameters: JetParameters, ticks| {
        let (impulse_nms, used_kg) = Stand::new(jets(vec![parameters])).pulse(ticks);
        impulse_nms / (1.2 * used_kg * G0_M_S2)
    };
    // 12, 22 and 102 ms open.
    let found = [1, 2, 10].map(|ticks| specific_s(with_plenum(), ticks));
    for (found_s, open_s) in found.into_iter().zip([0.012, 0.022, 0.102]) {
        let expected_s = 68.0 * (1.0 - 1.778e-3 / 6.0 / open_s);
        assert!((found_s - expected_s).abs() < 0.01, "{found_s} {expected_s}");
    }
    assert!((specific_s(drawn(), 1) - 68.0).abs() < 1e-9, "no plenum, no loss");
    let warm = JetParameters { tail_share: 1.0, ..with_plenum() };
    assert!((specific_s(warm, 1) - 68.0).abs() < 1e-9, "a warm tail loses nothing");
}

/// 4 % droop with one jet, 3 % lock-up, 20 cm³ of line at 0.4 MPa.
fn regulated() -> FeedParameters {
    FeedParameters {
        scheme: Scheme::Regulator,
        lock_up: 0.03,
        slope_s_kg: 0.04 / drawn().flow_kg_s(),
        line_kg: 91.95e-6,
        ..FeedParameters::default()
    }
}

#[test]
fn a_trapped_line_gives_a_tail_of_thrust_after_its_latch_and_the_balance_holds() {
    let cut_off = |feed: FeedParameters| {
        let feed_kg = feed.line_kg;
        let mut stand = Stand::new(Jets::new(vec![with_plenum()], feed));
        stand.tick(command(Some(0), None));
        (0..20).for_each(|_| stand.tick(command(None, None)));
        let (impulse_nms, mass_kg) = (stand.impulse_nms, stand.tank.mass_kg());
        stand.latch_open = [false; BANKS];
        (0..400).for_each(|_| stand.tick(command(None, None)));
        assert_eq!((stand.tank.mass_kg(), stand.jets.flowing()), (mass_kg, 0), "gas came through a shut latch");
        assert!(stand.tank.imbalance_kg().abs() < 1e-9 * stand.tank.used_kg(), "{}", stand.tank.imbalance_kg());
        // The other bank's line is shut in at lock-up.
        assert!((stand.tank.lines_kg() - 1.03 * feed_kg).abs() < 1e-12, "{}", stand.tank.lines_kg());
        stand.impulse_nms - impulse_nms
    };
    // 91.95 mg at 1/1.04 of the rated pressure and 68 s, on 1.2 m; and the plenum's 1.3 mg, which comes warm as long as
    // the valve stands open.
    let expected_nms = 1.2 * (91.95e-6 + 1.333e-6) / 1.04 * 68.0 * 9.806_65;
    let found_nms = cut_off(regulated());
    assert!((found_nms / expected_nms - 1.0).abs() < 1e-3, "{found_nms} {expected_nms}");
    let without_nms = cut_off(FeedParameters { line_kg: 0.0, ..regulated() });
    assert!(without_nms < 0.02 * expected_nms, "{without_nms}");
}

#[test]
fn warmth_makes_gas_faster_and_thinner_and_pressure_makes_it_stronger() {
    let mut stand = Stand::new(jets(vec![drawn()]));
    let (rated_nms, rated_kg) = stand.pulse(10);
    stand.jets.set_supply(20e6, 0.81 * 293.15);
    let (cold_nms, cold_kg) = stand.pulse(10);
    // The same pressure on the same throat: the same thrust; mass flow with 1/√T, specific impulse with √T.
    assert!((cold_nms / rated_nms - 1.0).abs() < 1e-12 && (cold_kg / rated_kg * 0.9 - 1.0).abs() < 1e-12);
    let tank = |pressure_pa: f64| FeedParameters { scheme: Scheme::Blowdown, pressure_pa, ..FeedParameters::default() };
    let full_pa = Tank::new(0.018, 4.0, 293.15).pressure_pa();
    let mut blowing = Stand::new(Jets::new(vec![drawn()], tank(full_pa)));
    blowing.jets.set_supply(0.6 * full_pa, 293.15);
    let (low_nms, low_kg) = blowing.pulse(10);
    assert!((low_nms / rated_nms - 0.6).abs() < 1e-9 && (low_kg / rated_kg - 0.6).abs() < 1e-9, "{low_nms}");
}

#[test]
fn a_tank_that_runs_dry_gives_no_more_than_it_held() {
    for feed in [FeedParameters::default(), FeedParameters { line_kg: 91.95e-6, ..FeedParameters::default() }] {
        let mut stand = Stand::new(Jets::new(vec![with_plenum()], feed));
        stand.tank = Tank::new(0.018, 1e-3, 293.15);
        stand.tick(command(Some(0), None));
        for _ in 0..400 {
            stand.tick(command(None, None));
            stand.tank.breathe(0.01);
            stand.jets.set_supply(stand.tank.pressure_pa(), stand.tank.temperature_k());
        }
        assert!(stand.tank.mass_kg() < 1e-12, "{}", stand.tank.mass_kg());
        // And what stood in both lines before.
        let most_kg = 1e-3 + 2.01 * 91.95e-6;
        assert!(stand.tank.used_kg() > 0.99e-3 && stand.tank.used_kg() < most_kg, "{}", stand.tank.used_kg());
    }
}
