//! Gas jets: valves with delays, thrust on and off at exact times, faults.

use super::gas::Tank;
use nalgebra::Vector3;
use stillframe_controller::io::{BANKS, Edges, MAX_JETS};

/// Standard gravity, m/s² (ISO 80000-3).
pub const G0_M_S2: f64 = 9.806_65;
/// Length of a base tick, s.
const TICK_S: f64 = 0.01;

/// One jet as built.
#[derive(Clone, Debug, PartialEq)]
pub struct JetParameters {
    /// Name, for reports.
    pub name: String,
    /// Which latch valve feeds it.
    pub bank: usize,
    /// Place in the vehicle's drawing frame, m.
    pub position_m: Vector3<f64>,
    /// Unit vector of the force on the vehicle, body axes.
    pub push: Vector3<f64>,
    /// Thrust, N.
    pub thrust_n: f64,
    /// Specific impulse delivered, s.
    pub specific_impulse_s: f64,
    /// From command to thrust, s.
    pub open_delay_s: f64,
    /// From command to no thrust, s.
    pub close_delay_s: f64,
    /// A valve that has opened stays open at least so long, s.
    pub minimum_pulse_s: f64,
}

/// What is wrong with a jet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JetFault {
    /// Valve never opens.
    StuckClosed,
    /// Valve never shuts.
    StuckOpen,
    /// Thrust times this share.
    Thrust(f64),
}

/// A change of some jet's flow inside a tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowEdge {
    /// Time from the tick's start, s.
    pub at_s: f64,
    /// Which jet.
    pub jet: usize,
    /// On or off.
    pub on: bool,
}

#[derive(Clone, Debug)]
struct Valve {
    /// Moments at which thrust will come and go, s from the present tick's start.
    opens_in_s: Option<f64>,
    closes_in_s: Option<f64>,
    /// When it last opened, s from the present tick's start.
    opened_in_s: f64,
    open: bool,
    fault: Option<JetFault>,
    /// Whether gas flowed after the last edge that was told.
    flowing: bool,
    on_time_s: f64,
    /// By a fault: opening and closing come so much later, s.
    late_s: [f64; 2],
    /// Which command the valve obeys: its own, unless wires are crossed.
    command: usize,
}

/// All jets of the vehicle.
#[derive(Clone, Debug)]
pub struct Jets {
    parameters: Vec<JetParameters>,
    valves: Vec<Valve>,
    latch_open: [bool; BANKS],
    active: bool,
    /// Share of nominal thrust and flow that the regulated pressure gives.
    pressure_share: f64,
}

/// Force and torque of the jets that are on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Push {
    /// Force, N, body axes.
    pub force_n: Vector3<f64>,
    /// Torque about the centre of mass, N·m, body axes.
    pub torque_nm: Vector3<f64>,
    /// Gas flow, kg/s.
    pub flow_kg_s: f64,
}

impl Jets {
    /// All shut.
    pub fn new(parameters: Vec<JetParameters>) -> Self {
        let shut = Valve {
            opens_in_s: None,
            closes_in_s: None,
            opened_in_s: f64::NEG_INFINITY,
            open: false,
            fault: None,
            flowing: false,
            on_time_s: 0.0,
            late_s: [0.0; 2],
            command: 0,
        };
        let valves = (0..parameters.len()).map(|command| Valve { command, ..shut.clone() }).collect();
        Self { parameters, valves, latch_open: [false; BANKS], active: false, pressure_share: 1.0 }
    }

    /// The jets as built.
    pub fn parameters(&self) -> &[JetParameters] {
        &self.parameters
    }

    /// Sets or clears a fault.
    pub fn set_fault(&mut self, jet: usize, fault: Option<JetFault>) {
        if let Some(valve) = self.valves.get_mut(jet) {
            valve.fault = fault;
            self.active = true;
        }
    }

    /// Crosses the wires of two jets; done again, it sets them right.
    pub fn cross_wires(&mut self, one: usize, other: usize) {
        if one != other && one.max(other) < self.valves.len() {
            let command = self.valves[one].command;
            self.valves[one].command = self.valves[other].command;
            self.valves[other].command = command;
        }
    }

    /// Makes a valve open and shut later than built, s.
    pub fn set_late(&mut self, jet: usize, late_s: [f64; 2]) {
        if let Some(valve) = self.valves.get_mut(jet) {
            valve.late_s = late_s;
        }
    }

    /// Sets the share of nominal thrust and flow that the regulated pressure gives; acts from the next edge on.
    pub fn set_pressure_share(&mut self, share: f64) {
        self.pressure_share = share;
    }

    /// Takes the commands of one tick and gives the flow edges that fall into it, in order of time.
    pub fn tick(&mut self, commands: &[Edges; MAX_JETS], latch_open: [bool; BANKS], edges: &mut Vec<FlowEdge>) {
        edges.clear();
        let commanded = commands.iter().any(|edge| *edge != Edges::NONE);
        if !self.active && !commanded {
            self.latch_open = latch_open;
            return;
        }
        self.active = false;
        self.latch_open = latch_open;
        for jet in 0..self.valves.len() {
            let command = commands.get(self.valves[jet].command).copied().unwrap_or(Edges::NONE);
            // A latch that moved, or a fault that came or went, acts at the tick's start.
            let flows = self.flows(jet);
            if flows != self.valves[jet].flowing {
                self.valves[jet].flowing = flows;
                edges.push(FlowEdge { at_s: 0.0, jet, on: flows });
            }
            self.valve_tick(jet, command, edges);
        }
        edges.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    }

    /// Moves one valve through the tick.
    fn valve_tick(&mut self, jet: usize, command: Edges, edges: &mut Vec<FlowEdge>) {
        let built = &self.parameters[jet];
        let latched = self.latch_open[built.bank];
        let valve = &mut self.valves[jet];
        if let Some(us) = command.open_us {
            valve.opens_in_s = Some(f64::from(us) * 1e-6 + built.open_delay_s + valve.late_s[0]);
        }
        let opened_in_s = valve.opens_in_s.unwrap_or(valve.opened_in_s);
        if let Some(us) = command.close_us {
            let asked_s = f64::from(us) * 1e-6 + built.close_delay_s + valve.late_s[1];
            valve.closes_in_s = Some(asked_s.max(opened_in_s + built.minimum_pulse_s));
        }
        let able = latched && !matches!(valve.fault, Some(JetFault::StuckClosed | JetFault::StuckOpen));
        // Whichever comes first in this tick goes first; both may fall into it.
        for _ in 0..2 {
            let due = |at: Option<f64>| at.filter(|&s| s < TICK_S);
            let (open_at, close_at) = (due(valve.opens_in_s), due(valve.closes_in_s));
            let opening = match (open_at, close_at) {
                (Some(open), Some(close)) => open < close || (open == close && !valve.open),
                (Some(_), None) => true,
                (None, Some(_)) => false,
                (None, None) => break,
            };
            let slot = if opening { &mut valve.opens_in_s } else { &mut valve.closes_in_s };
            let at_s = slot.take().unwrap_or_default();
            if valve.open != opening && able {
                valve.flowing = opening;
                edges.push(FlowEdge { at_s, jet, on: opening });
            }
            valve.open = opening;
            if opening {
                valve.opened_in_s = at_s;
            }
        }
        for at in [&mut valve.opens_in_s, &mut valve.closes_in_s].into_iter().flatten() {
            *at -= TICK_S;
        }
        valve.opened_in_s -= TICK_S;
        self.active |= valve.open || valve.opens_in_s.is_some() || valve.closes_in_s.is_some();
        self.active |= matches!(valve.fault, Some(JetFault::StuckOpen));
    }

    /// Whether gas flows through a jet now, as its valve stands.
    fn flows(&self, jet: usize) -> bool {
        let valve = &self.valves[jet];
        let open = match valve.fault {
            Some(JetFault::StuckClosed) => false,
            Some(JetFault::StuckOpen) => true,
            _ => valve.open,
        };
        open && self.latch_open[self.parameters[jet].bank]
    }

    /// Bit mask of the jets that gas flows through, as the last tick's edges left them.
    pub fn flowing(&self) -> u32 {
        self.valves.iter().enumerate().filter(|(_, valve)| valve.flowing).fold(0, |mask, (jet, _)| mask | 1 << jet)
    }

    /// Push of the jets in a mask, about `centre_m` (drawing frame).
    pub fn push(&self, mask: u32, centre_m: &Vector3<f64>) -> Push {
        let mut sum = Push::default();
        for (jet, built) in self.parameters.iter().enumerate().filter(|(jet, _)| mask & (1 << jet) != 0) {
            let share = match self.valves[jet].fault {
                Some(JetFault::Thrust(share)) => share * self.pressure_share,
                _ => self.pressure_share,
            };
            let thrust = built.thrust_n * share;
            let force = built.push * thrust;
            sum.force_n += force;
            sum.torque_nm += (built.position_m - centre_m).cross(&force);
            sum.flow_kg_s += thrust / (built.specific_impulse_s * G0_M_S2);
        }
        sum
    }

    /// Push of jets that leak `flow_kg_s` at their seats, about `centre_m`: nothing behind a shut latch. A leak
    /// is taken to push with the jet's whole specific impulse, which is the worst it can do.
    pub fn leak(&self, flow_kg_s: &[f64], centre_m: &Vector3<f64>) -> Push {
        let mut sum = Push::default();
        for (built, &flow_kg_s) in self.parameters.iter().zip(flow_kg_s) {
            if flow_kg_s > 0.0 && self.latch_open[built.bank] {
                let force = built.push * (flow_kg_s * built.specific_impulse_s * G0_M_S2);
                sum.force_n += force;
                sum.torque_nm += (built.position_m - centre_m).cross(&force);
                sum.flow_kg_s += flow_kg_s;
            }
        }
        sum
    }

    /// Draws the gas of `push` over `dt_s` and notes the on-time; scales the push if the tank runs dry.
    pub fn spend(&mut self, mask: u32, push: &mut Push, dt_s: f64, tank: &mut Tank) {
        if mask == 0 {
            return;
        }
        let share = tank.draw(push.flow_kg_s * dt_s);
        push.force_n *= share;
        push.torque_nm *= share;
        for (jet, valve) in self.valves.iter_mut().enumerate() {
            if mask & (1 << jet) != 0 {
                valve.on_time_s += dt_s;
            }
        }
    }

    /// On-time of each jet so far, s.
    pub fn on_times_s(&self) -> impl Iterator<Item = f64> + '_ {
        self.valves.iter().map(|valve| valve.on_time_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_jet() -> Jets {
        Jets::new(vec![JetParameters {
            name: "pitch up".into(),
            bank: 0,
            position_m: Vector3::new(-1.2, 0.0, 0.0),
            push: Vector3::z(),
            thrust_n: 0.5,
            specific_impulse_s: 68.0,
            open_delay_s: 0.004,
            close_delay_s: 0.006,
            minimum_pulse_s: 0.01,
        }])
    }

    fn command(open_us: Option<u16>, close_us: Option<u16>) -> [Edges; MAX_JETS] {
        let mut all = [Edges::NONE; MAX_JETS];
        all[0] = Edges { open_us, close_us };
        all
    }

    #[test]
    fn delays_move_both_edges_and_may_carry_them_into_the_next_tick() {
        let mut jets = one_jet();
        let mut edges = Vec::new();
        jets.tick(&command(Some(0), None), [true; 2], &mut edges);
        assert_eq!(edges, [FlowEdge { at_s: 0.004, jet: 0, on: true }]);
        jets.tick(&command(None, Some(7_000)), [true; 2], &mut edges);
        assert!(edges.is_empty());
        jets.tick(&command(None, None), [true; 2], &mut edges);
        assert_eq!(edges.len(), 1);
        assert!(!edges[0].on && (edges[0].at_s - 0.003).abs() < 1e-12);
        assert_eq!(jets.flowing(), 0);
    }

    #[test]
    fn a_stuck_open_valve_flows_until_its_latch_shuts() {
        let mut jets = one_jet();
        let mut edges = Vec::new();
        jets.tick(&command(None, None), [true; 2], &mut edges);
        jets.set_fault(0, Some(JetFault::StuckOpen));
        jets.tick(&command(None, None), [true; 2], &mut edges);
        assert_eq!(edges, [FlowEdge { at_s: 0.0, jet: 0, on: true }]);
        assert_eq!(jets.flowing(), 1);
        jets.tick(&command(None, None), [false, true], &mut edges);
        assert_eq!(edges, [FlowEdge { at_s: 0.0, jet: 0, on: false }]);
        assert_eq!(jets.flowing(), 0);
    }

    #[test]
    fn a_latch_that_shuts_stops_every_jet_behind_it() {
        let mut jets = Jets::new([one_jet().parameters, one_jet().parameters].concat());
        let mut edges = Vec::new();
        let mut open = command(Some(0), None);
        open[1] = open[0];
        jets.tick(&open, [true; 2], &mut edges);
        assert_eq!(jets.flowing(), 0b11);
        jets.tick(&command(None, None), [false, true], &mut edges);
        assert_eq!(edges, [0, 1].map(|jet| FlowEdge { at_s: 0.0, jet, on: false }));
    }

    #[test]
    fn a_stuck_closed_valve_never_flows() {
        let mut jets = one_jet();
        let mut edges = Vec::new();
        jets.set_fault(0, Some(JetFault::StuckClosed));
        jets.tick(&command(Some(0), None), [true; 2], &mut edges);
        assert!(edges.is_empty() && jets.flowing() == 0);
    }

    #[test]
    fn crossed_wires_open_the_other_jet_and_crossing_them_again_sets_them_right() {
        let mut jets = Jets::new([one_jet().parameters, one_jet().parameters].concat());
        let mut edges = Vec::new();
        jets.cross_wires(0, 1);
        jets.tick(&command(Some(0), Some(8_000)), [true; 2], &mut edges);
        assert!(edges.iter().all(|edge| edge.jet == 1) && !edges.is_empty());
        jets.cross_wires(0, 1);
        jets.tick(&command(None, None), [true; 2], &mut edges);
        jets.tick(&command(Some(0), Some(8_000)), [true; 2], &mut edges);
        assert!(edges.iter().any(|edge| edge.jet == 0 && edge.on));
    }

    #[test]
    fn a_slow_valve_shuts_later_and_a_high_regulator_pushes_harder() {
        let mut jets = one_jet();
        jets.set_late(0, [0.0, 0.02]);
        let mut edges = Vec::new();
        let mut shut_s = 0.0;
        for tick in 0..5 {
            let now = if tick == 0 { command(Some(0), Some(8_000)) } else { command(None, None) };
            jets.tick(&now, [true; 2], &mut edges);
            if let Some(edge) = edges.iter().find(|edge| !edge.on) {
                shut_s = 0.01 * f64::from(tick) + edge.at_s;
            }
        }
        // Told at 8 ms, 6 ms of its own, 20 ms late.
        assert!((shut_s - 0.034).abs() < 1e-12, "{shut_s}");
        jets.set_pressure_share(1.5);
        let push = jets.push(1, &Vector3::zeros());
        assert!((push.force_n.z - 0.75).abs() < 1e-12 && (push.flow_kg_s * 68.0 * G0_M_S2 - 0.75).abs() < 1e-12);
    }

    #[test]
    fn a_leaking_seat_pushes_by_its_flow_until_its_latch_shuts() {
        // 0.01 g/s at 68 s: 6.668522 mN, on an arm of 1.2 m.
        let mut jets = one_jet();
        assert_eq!(jets.leak(&[1e-5], &Vector3::zeros()), Push::default());
        jets.tick(&command(None, None), [true; 2], &mut Vec::new());
        let push = jets.leak(&[1e-5], &Vector3::zeros());
        assert!((push.torque_nm.y - 1.2 * 6.668_522e-3).abs() < 1e-9 && push.flow_kg_s == 1e-5);
    }

    #[test]
    fn torque_is_arm_across_force_about_the_centre_of_mass() {
        let push = one_jet().push(1, &Vector3::new(0.1, 0.0, 0.0));
        assert!((push.torque_nm - Vector3::new(0.0, 0.65, 0.0)).norm() < 1e-12);
        assert!((push.flow_kg_s - 0.5 / (68.0 * 9.80665)).abs() < 1e-15);
    }
}
