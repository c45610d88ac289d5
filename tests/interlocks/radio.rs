//! Orders through the radio of the whole flight code.

use stillframe_controller::{
    Controller,
    attitude::settings::JetSettings,
    io::{FilmSample, HorizonSample, OrdnanceSample, Sensors, TankSample},
    ordnance::{Alarm, Event, order::Order},
    settings::Settings,
};
use stillframe_wire::packet;

include!("../../firmware/controller/src/two_banks.rs");

struct Vehicle {
    controller: Controller,
    sensors: Sensors,
    counter: u16,
}

impl Vehicle {
    fn in_orbit() -> Self {
        let sensors = Sensors {
            tick: 0,
            gyro_rad_s: [0.0, -1.18e-3, 0.0],
            horizon: HorizonSample { sequence: 0, locked: true, roll_rad: 0.0, pitch_rad: 0.0 },
            tank: TankSample { pressure_pa: 20e6, temperature_k: 293.0 },
            film: FilmSample::default(),
            uplink: Default::default(),
            separated: true,
            ordnance: OrdnanceSample { off_carrier: true, recovery_v: 28.0, ..OrdnanceSample::default() },
        };
        let controller = Controller::new(two_banks()).expect("sound settings");
        let mut vehicle = Self { controller, sensors, counter: 0 };
        vehicle.fly(&[], 200);
        vehicle
    }

    /// Bytes up, 32 a tick, then on; the answer of every tick has no line and no commit switch closed.
    fn fly(&mut self, up: &[u8], ticks: usize) {
        let mut chunks = up.chunks(32);
        for _ in 0..ticks {
            self.sensors.tick += 1;
            self.sensors.uplink = chunks.next().unwrap_or_default().iter().copied().collect();
            let out = self.controller.step(&self.sensors).ordnance;
            assert!(out.lines() == 0 && !out.commits(), "{out:?}");
            self.sensors.ordnance.relay_closed = out.arm();
            (self.sensors.ordnance.retained, self.sensors.ordnance.retained_ticks) = (out.retain(), out.retain_ticks());
        }
    }

    fn order(&mut self, order: Order) {
        self.counter += 1;
        let packet = packet::ordnance_order(order, self.counter, self.counter).expect("it fits");
        let mut frame = vec![0];
        frame.extend(cobs::encode_vec(&packet));
        frame.push(0);
        self.fly(&frame, 150);
    }
}

#[test]
fn orders_come_by_radio_the_echo_goes_down_and_a_vehicle_that_has_not_turned_is_waved_off() {
    let mut vehicle = Vehicle::in_orbit();
    vehicle.order(Order::Arm(0xfeed));
    let told = vehicle.controller.telemetry().ordnance;
    assert_eq!((told.echo, told.armed, told.count), (0xfeed, false, 0));
    vehicle.order(Order::Confirm(told.echo));
    let told = vehicle.controller.telemetry().ordnance;
    assert!(told.armed && told.echo == 0);
    assert_eq!(told.inhibits_left(), 2, "turn and moment");
    vehicle.order(Order::Go(Event::CoverRelease, 0xfeed));
    let told = vehicle.controller.telemetry().ordnance;
    assert!(told.alarms.has(Alarm::WavedOff) && !told.armed);
}

/// What the ground's own control is: the same bytes with one bit wrong do nothing.
#[test]
fn one_wrong_bit_on_the_way_up_arms_nothing() {
    let packet = packet::ordnance_order(Order::Arm(0xfeed), 1, 1).expect("it fits");
    for bit in 0..8 * packet.len() {
        let mut spoilt = packet.clone();
        spoilt[bit / 8] ^= 1 << (bit % 8);
        let mut vehicle = Vehicle::in_orbit();
        let mut frame = vec![0];
        frame.extend(cobs::encode_vec(&spoilt));
        frame.push(0);
        vehicle.fly(&frame, 3);
        assert_eq!(vehicle.controller.ordnance().echo, 0, "bit {bit}");
    }
}
