//! Inner pieces made ready to be timed.

use stillframe::design::attitude::cost::InHold;
use stillframe::flight::{build::build, closed_loop::ClosedLoop, link::Link, settings::for_run};
use stillframe::plant::body::{Forcing, RigidBody, State};
use stillframe::plant::faults::FaultSchedule;
use stillframe::scenario::demo::Demo;
use stillframe_controller::io::Sensors;

/// A body with products of inertia, turning, with a jet on, film running and the gravity gradient.
pub fn body_under_way() -> (RigidBody, State, Forcing) {
    let inertia_kg_m2 = [[1512.7, 4.0, -11.0], [4.0, 1437.3, 6.0], [-11.0, 6.0, 311.9]];
    let body = RigidBody::new(inertia_kg_m2).expect("a possible inertia");
    let state = State { q: [0.5, -0.5, -0.5, 0.5], w: [2.1e-3, -3.4e-3, 1.7e-3] };
    let forcing = Forcing {
        torque_nm: [1.557, -2.3e-3, 0.4e-3],
        torque_growth_nm: [0.0; 3],
        reel_momentum_nms: [0.0, 0.12, 0.0],
        reel_reaction_nms: [0.0, -1e-4, 0.0],
        gravity_gradient_per_s2: 4.1e-6,
        up: [[1.0, 0.0, 0.0], [1.0, 1.17e-5, 0.0], [1.0, 2.34e-5, 0.0]],
    };
    (body, state, forcing)
}

/// The demonstration at its start.
pub fn flight_at_start() -> ClosedLoop {
    let loaded = Demo::Strip.load().expect("the demonstration is sound");
    let built = build(&loaded, 1).expect("the demonstration can be built");
    let link = Link::new(&loaded.scenario, 1, &built.load);
    ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&loaded.scenario))
}

/// The demonstration half an hour on: captured, in fine hold, film at rest.
pub fn flight_in_hold() -> ClosedLoop {
    let mut flight = flight_at_start();
    for _ in 0..200_000 {
        flight.tick(&[], &mut |_, _| ()).expect("the demonstration flies");
    }
    flight
}

/// The attitude loop in fine hold, and what it is told from then on.
#[allow(dead_code, reason = "the instruction counts time the whole controller")]
pub fn attitude_in_hold() -> InHold {
    let loaded = Demo::Strip.load().expect("the demonstration is sound");
    let (settings, _) = for_run(&loaded).expect("its settings are sound");
    InHold::of(&loaded, &settings, 1).expect("the demonstration flies")
}

/// What the sensors say over the next ticks.
pub fn sensors_in_hold(mut flight: ClosedLoop, ticks: usize) -> Vec<Sensors> {
    let mut stream = Vec::with_capacity(ticks);
    for _ in 0..ticks {
        stream.push(flight.plant.clone().sensors(&[]));
        flight.tick(&[], &mut |_, _| ()).expect("the demonstration flies");
    }
    stream
}
