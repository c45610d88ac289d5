//! A flight in which all goes well, step by step, and the inhibits in place on the way.

use crate::{
    model::{Action, Graph, Moment, State},
    search::{LONG, flown},
    stuck::Faults,
};
use stateright::Model;
use stillframe_controller::ordnance::{
    Event, Side,
    order::{Arrival, Order},
};

const TOKEN: u32 = 1;

struct Flight {
    graph: Graph<false>,
    state: State<false>,
    phases: Vec<(Side, String, u8)>,
}

impl Flight {
    fn begin(side: Side) -> Self {
        let mut graph = flown(side, LONG, vec![Faults::default()]);
        // Long enough to be seen between two events.
        graph.settings.spin_delay_ticks = 3;
        let state = graph.pad(Faults::default());
        Self { graph, state, phases: Vec::new() }
    }

    fn act(&mut self, action: Action) {
        let next = self.graph.next_state(&self.state, action);
        self.state = next.expect("every action leads on");
        assert_eq!(self.state.broken, 0, "{action:?}");
    }

    fn tick(&mut self) {
        self.act(Action::Tick(None, Moment::Good));
    }

    fn order(&mut self, order: Order) {
        self.act(Action::Tick(Some(Arrival::Order(order)), Moment::Good));
    }

    fn note(&mut self, phase: impl Into<String>) {
        let bits = self.graph.inhibits(&self.state);
        self.phases.push((self.graph.side, phase.into(), bits));
    }

    /// Ticks until an event fires; the inhibits just before it did.
    fn until(&mut self, event: Event) {
        for _ in 0..30 {
            let before = self.graph.inhibits(&self.state);
            self.tick();
            if self.state.circuit.fired & event.bit() != 0 {
                self.phases.push((self.graph.side, format!("{}: current", event.name()), before));
                return;
            }
        }
        panic!("{} does not fire", event.name());
    }
}

fn vehicle() -> Flight {
    let mut flight = Flight::begin(Side::Vehicle);
    flight.note("on the pad");
    flight.act(Action::Launch);
    flight.note("in orbit, film sealed, turned to the retro attitude");
    flight.act(Action::Battery(true));
    flight.note("battery's switch closed");
    flight.order(Order::Arm(TOKEN));
    flight.note("offer echoed");
    flight.order(Order::Confirm(TOKEN));
    flight.note("armed");
    flight.order(Order::Go(Event::CoverRelease, TOKEN));
    flight.until(Event::CoverRelease);
    flight.tick();
    flight.note("cover gone");
    // The few ticks of the search's settings: armed anew where a flight's life would still run.
    flight.order(Order::Safe);
    flight.order(Order::Arm(TOKEN));
    flight.order(Order::Confirm(TOKEN));
    flight.order(Order::Go(Event::CapsuleSeparation, TOKEN));
    flight.until(Event::CapsuleSeparation);
    flight.tick();
    flight.tick();
    flight.note("capsule gone");
    assert!(flight.graph.home(&flight.state));
    flight
}

fn capsule() -> Flight {
    let mut flight = Flight::begin(Side::Capsule);
    flight.note("on the pad");
    flight.act(Action::Launch);
    flight.note("in orbit, in the vehicle");
    flight.act(Action::Battery(true));
    flight.note("battery's switch closed");
    flight.order(Order::Arm(TOKEN));
    flight.order(Order::Confirm(TOKEN));
    flight.note("armed in the vehicle");
    flight.act(Action::Leave);
    flight.tick();
    flight.note("let go");
    for event in Event::ALL.into_iter().skip(2) {
        flight.until(event);
        flight.tick();
    }
    flight.tick();
    flight.note("under the main canopy");
    assert!(flight.graph.home(&flight.state));
    flight
}

/// Phases of both computers, with the inhibits in place.
pub fn phases() -> Vec<(Side, String, u8)> {
    [vehicle().phases, capsule().phases].concat()
}

/// Every event gets its current with no inhibit in place, and before every other phase some are.
#[test]
fn current_flows_where_nothing_is_in_place_and_nowhere_else() {
    let phases = phases();
    assert_eq!(phases.iter().filter(|(_, phase, _)| phase.ends_with("current")).count(), 8);
    for (_, phase, bits) in phases {
        assert_eq!(bits == 0, phase.ends_with("current"), "{phase}: {bits:05b}");
    }
}
