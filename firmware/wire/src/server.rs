//! The board's side of the conversation: what is done with each byte that arrives, without knowing pins, timers
//! or serial ports.
//!
//! The board image and the bench's stand-in for a board both run this; what they differ in is a [`Machine`].
//!
//! What can go wrong on the line, and what the board does:
//! - a frame that is no message moves nothing and is answered by [`Refusal::BadFrame`];
//! - a step that comes again (its answer was lost) is answered as before and not taken twice;
//! - a step out of turn moves nothing and is answered by [`Refusal::Sequence`];
//! - when nothing comes for [`LINK_LOSS_TICKS`], outputs go safe; the next step in turn takes them up again.

use crate::{
    frame::Unframer,
    message::{Cost, FromBoard, PinImage, PostMortem, Refusal, Stats, ToBoard, VERSION},
    pace::Pacer,
    packet::{self, Count},
    settings,
};
use heapless::Vec;
use stillframe_controller::{
    Controller,
    io::{Actuators, Sensors},
    programme::load::MAX_BYTES,
    settings::Settings,
    telemetry::Telemetry,
};

/// Base ticks without a step after which outputs go safe: as many frames in a row may be lost.
pub const LINK_LOSS_TICKS: u32 = 20;

/// What the server needs of the machine it runs on.
pub trait Machine {
    /// Clock of the processor, Hz.
    fn clock_hz(&self) -> u32;
    /// A step begins.
    fn start(&mut self);
    /// What the step cost that has just ended.
    fn cost(&mut self) -> Cost;
    /// Makes the outputs follow at the next tick's boundary.
    fn put_out(&mut self, actuators: &Actuators);
    /// Fills in the counters that only the machine knows: lost bytes, stack, reset flags.
    fn stats(&self, stats: &mut Stats);
    /// The record that the last failure left, if one did.
    fn post_mortem(&self) -> Option<PostMortem>;
    /// What was last written to the output lines, where there are any.
    fn pins(&self) -> PinImage {
        PinImage::default()
    }
    /// Opens a debug channel to be used from the next message on; `false` where there is none.
    fn change_channel(&mut self, _to_board: &str, _from_board: &str) -> bool {
        false
    }
}

/// The board's state towards its driver.
#[derive(Clone, Debug)]
pub struct Server {
    unframer: Unframer,
    settings: Option<Settings>,
    load: Vec<u8, MAX_BYTES>,
    controller: Option<Controller>,
    /// Number of the step that is next in turn.
    expected: u32,
    /// The last step's answer, for a driver that has not got it.
    last: Option<FromBoard>,
    steps: u32,
    silent_ticks: u32,
    link_losses: u32,
    /// Of the next telemetry packet.
    count: Count,
    /// In real time only.
    pacer: Option<Pacer>,
}

impl Default for Server {
    fn default() -> Self {
        Self::new()
    }
}

impl Server {
    /// A board after its reset.
    pub const fn new() -> Self {
        Self {
            unframer: Unframer::new(),
            settings: None,
            load: Vec::new(),
            controller: None,
            expected: 0,
            last: None,
            steps: 0,
            silent_ticks: 0,
            link_losses: 0,
            count: Count::FIRST,
            pacer: None,
        }
    }

    /// Takes a byte from the line; at the end of a frame gives what is to be answered.
    #[inline(never)]
    pub fn byte(&mut self, byte: u8, machine: &mut impl Machine) -> Option<FromBoard> {
        // Looked at where it lies: a message that is moved takes its room on the stack once more.
        let pushed = self.unframer.push::<ToBoard>(byte);
        match &pushed {
            None => None,
            // At the board's own pace a step is answered at the tick.
            Some(Ok(ToBoard::Step { sequence, sensors })) if self.pacer.is_some() => {
                self.pacer.as_mut()?.take(*sequence, sensors);
                None
            }
            Some(Ok(message)) => Some(self.handle(message, machine)),
            Some(Err(_)) => Some(FromBoard::Refused(Refusal::BadFrame)),
        }
    }

    /// Does what a message asks and gives the answer.
    #[inline(never)]
    pub fn handle(&mut self, message: &ToBoard, machine: &mut impl Machine) -> FromBoard {
        match message {
            ToBoard::Hello => {
                FromBoard::Hello { version: VERSION, keys: settings::keys(), clock_hz: machine.clock_hz() }
            }
            ToBoard::Settings(row) => match row.read() {
                Ok(settings) => {
                    self.settings = Some(settings);
                    FromBoard::Done
                }
                Err(error) => FromBoard::Refused(Refusal::Settings(error)),
            },
            ToBoard::Load(bytes) => {
                self.load.clone_from(bytes);
                FromBoard::Done
            }
            ToBoard::Begin => match self.begin(machine) {
                Ok(()) => FromBoard::Done,
                Err(refusal) => FromBoard::Refused(refusal),
            },
            ToBoard::Step { sequence, sensors } => self.step(*sequence, sensors, machine),
            ToBoard::Stats => FromBoard::Stats(self.stats(machine)),
            ToBoard::PostMortem => FromBoard::PostMortem(machine.post_mortem()),
            ToBoard::End => {
                self.end(machine);
                FromBoard::Done
            }
            ToBoard::Pins => FromBoard::Pins(machine.pins()),
            ToBoard::Channel { to_board, from_board } => {
                let changed = machine.change_channel(to_board, from_board);
                if changed { FromBoard::Done } else { FromBoard::Refused(Refusal::Unable) }
            }
            ToBoard::Pace if self.controller.is_none() => FromBoard::Refused(Refusal::NotBegun),
            ToBoard::Pace => {
                self.pacer = Some(Pacer::new());
                FromBoard::Done
            }
        }
    }

    /// A base tick went by on the board's own timer. At the board's pace it gives an answer.
    pub fn tick(&mut self, machine: &mut impl Machine) -> Option<FromBoard> {
        if let Some(pacer) = &mut self.pacer {
            let step = pacer.at_tick();
            if pacer.just_lost() {
                self.lose_link(machine);
            }
            let (sequence, sensors) = step?;
            self.expected = sequence;
            return Some(self.step(sequence, &sensors, machine));
        }
        if self.controller.is_none() || self.silent_ticks >= LINK_LOSS_TICKS {
            return None;
        }
        self.silent_ticks += 1;
        if self.silent_ticks >= LINK_LOSS_TICKS {
            self.lose_link(machine);
        }
        None
    }

    fn lose_link(&mut self, machine: &mut impl Machine) {
        self.link_losses = self.link_losses.saturating_add(1);
        machine.put_out(&Actuators::SAFE);
    }

    /// In the loop: a controller exists.
    pub fn in_loop(&self) -> bool {
        self.controller.is_some()
    }

    #[inline(never)]
    fn begin(&mut self, machine: &mut impl Machine) -> Result<(), Refusal> {
        // Without settings the defaults stand, which have no jets: the controller refuses them.
        self.controller = None;
        self.last = None;
        self.pacer = None;
        machine.put_out(&Actuators::SAFE);
        self.make_controller()?;
        // The load stays until the end, so that a beginning that comes again begins with the same.
        if !self.load.is_empty()
            && let Err(refusal) = self.load_controller()
        {
            self.controller = None;
            return Err(refusal);
        }
        self.expected = 0;
        self.silent_ticks = 0;
        Ok(())
    }

    // Making and loading stand apart: a controller on its way to its place and a load on its way into the controller
    // would otherwise be on the stack together.

    #[inline(never)]
    fn make_controller(&mut self) -> Result<(), Refusal> {
        let settings = self.settings.clone().unwrap_or_default();
        self.controller = Some(Controller::new(settings).map_err(|_| Refusal::Controller)?);
        Ok(())
    }

    #[inline(never)]
    fn load_controller(&mut self) -> Result<(), Refusal> {
        let controller = self.controller.as_mut().ok_or(Refusal::NotBegun)?;
        controller.load(&self.load, 0).map_err(Refusal::Load)
    }

    #[inline(never)]
    fn step(&mut self, sequence: u32, sensors: &Sensors, machine: &mut impl Machine) -> FromBoard {
        let Some(controller) = &mut self.controller else {
            return FromBoard::Refused(Refusal::NotBegun);
        };
        if sequence != self.expected {
            return match &self.last {
                Some(last) if sequence == self.expected.wrapping_sub(1) => last.clone(),
                _ => FromBoard::Refused(Refusal::Sequence { expected: self.expected }),
            };
        }
        machine.start();
        let actuators = controller.step(sensors);
        let cost = machine.cost();
        let telemetry =
            fresh_telemetry(controller, sensors).and_then(|snapshot| packet::snapshot(&snapshot, self.count.take()));
        machine.put_out(&actuators);
        let answer = FromBoard::Answer { sequence, actuators, telemetry, cost };
        self.expected = sequence.wrapping_add(1);
        self.silent_ticks = 0;
        self.steps = self.steps.saturating_add(1);
        self.last = Some(answer.clone());
        answer
    }

    fn end(&mut self, machine: &mut impl Machine) {
        machine.put_out(&Actuators::SAFE);
        self.controller = None;
        self.last = None;
        self.pacer = None;
        self.load.clear();
    }

    fn stats(&self, machine: &impl Machine) -> Stats {
        let mut stats = Stats {
            steps: self.steps,
            bad_frames: self.unframer.bad,
            link_losses: self.link_losses,
            ..Stats::default()
        };
        machine.stats(&mut stats);
        stats
    }
}

/// The controller's snapshot, if it made one in the step with these sensors.
pub fn fresh_telemetry(controller: &Controller, sensors: &Sensors) -> Option<Telemetry> {
    // It bears the tick of its making; the seconds are counted by steps, so that the tick itself tells nothing.
    let telemetry = controller.telemetry();
    (telemetry.tick == sensors.tick).then_some(*telemetry)
}

#[cfg(test)]
pub(crate) mod tests {
    extern crate std;
    use super::*;
    use crate::{frame, pace::HELD_TICKS, settings::SettingsRow};
    use stillframe_controller::{
        attitude::settings::JetSettings,
        io::{FilmSample, HorizonSample, OrdnanceSample, TankSample},
    };

    #[derive(Default)]
    struct Desk {
        out: Option<Actuators>,
        times_out: u32,
    }

    impl Machine for Desk {
        fn clock_hz(&self) -> u32 {
            1
        }
        fn start(&mut self) {}
        fn cost(&mut self) -> Cost {
            Cost::TimerTicks(7)
        }
        fn put_out(&mut self, actuators: &Actuators) {
            self.out = Some(actuators.clone());
            self.times_out += 1;
        }
        fn stats(&self, stats: &mut Stats) {
            stats.stack_size = 4_096;
        }
        fn post_mortem(&self) -> Option<PostMortem> {
            None
        }
    }

    include!("../../controller/src/two_banks.rs");

    fn sensors(tick: u32) -> Sensors {
        Sensors {
            tick,
            gyro_rad_s: [0.02, 0.0, 0.0],
            horizon: HorizonSample::default(),
            tank: TankSample { pressure_pa: 2e7, temperature_k: 293.0 },
            film: FilmSample::default(),
            uplink: Vec::new(),
            separated: true,
            ordnance: OrdnanceSample::default(),
        }
    }

    fn begun() -> (Server, Desk) {
        let (mut server, mut desk) = (Server::new(), Desk::default());
        let row = SettingsRow::write(&two_banks()).unwrap();
        assert_eq!(server.handle(&ToBoard::Settings(row), &mut desk), FromBoard::Done);
        assert_eq!(server.handle(&ToBoard::Begin, &mut desk), FromBoard::Done);
        (server, desk)
    }

    fn step(server: &mut Server, desk: &mut Desk, sequence: u32) -> FromBoard {
        server.handle(&ToBoard::Step { sequence, sensors: sensors(sequence) }, desk)
    }

    #[test]
    fn a_board_steps_as_the_desk_does() {
        let (mut server, mut desk) = begun();
        let mut here = Controller::new(two_banks()).unwrap();
        for sequence in 0..300 {
            let FromBoard::Answer { actuators, telemetry, .. } = step(&mut server, &mut desk, sequence) else {
                panic!("no answer");
            };
            assert_eq!(actuators, here.step(&sensors(sequence)));
            assert_eq!(telemetry.is_some(), sequence % 100 == 0);
            if let Some(bytes) = telemetry {
                let (header, told) = packet::read_snapshot(&bytes).unwrap();
                assert_eq!((u32::from(header.count), told), (sequence / 100, *here.telemetry()));
            }
            assert_eq!(desk.out, Some(actuators));
        }
    }

    #[test]
    fn before_the_beginning_nothing_moves() {
        let (mut server, mut desk) = (Server::new(), Desk::default());
        assert_eq!(step(&mut server, &mut desk, 0), FromBoard::Refused(Refusal::NotBegun));
        assert_eq!(desk.times_out, 0);
        assert_eq!(server.handle(&ToBoard::Begin, &mut desk), FromBoard::Refused(Refusal::Controller));
    }

    #[test]
    fn a_repeated_step_is_answered_again_and_taken_once() {
        let (mut server, mut desk) = begun();
        let first = step(&mut server, &mut desk, 0);
        let times = desk.times_out;
        assert_eq!(step(&mut server, &mut desk, 0), first);
        assert_eq!(desk.times_out, times);
        assert_eq!(step(&mut server, &mut desk, 2), FromBoard::Refused(Refusal::Sequence { expected: 1 }));
        assert_eq!(desk.times_out, times);
    }

    #[test]
    fn a_damaged_frame_moves_nothing_and_is_told() {
        let (mut server, mut desk) = begun();
        let times = desk.times_out;
        let mut bytes = frame(&ToBoard::Step { sequence: 0, sensors: sensors(0) }).unwrap();
        bytes[9] ^= 0x10;
        let answers: std::vec::Vec<_> = bytes.iter().filter_map(|&byte| server.byte(byte, &mut desk)).collect();
        assert_eq!(answers, [FromBoard::Refused(Refusal::BadFrame)]);
        assert_eq!(desk.times_out, times);
        assert_eq!(server.stats(&desk).bad_frames, 1);
    }

    #[test]
    fn silence_makes_outputs_safe_until_the_next_step() {
        let (mut server, mut desk) = begun();
        for sequence in 0..4 {
            step(&mut server, &mut desk, sequence);
        }
        assert_ne!(desk.out, Some(Actuators::SAFE));
        for _ in 1..LINK_LOSS_TICKS {
            server.tick(&mut desk);
        }
        assert_ne!(desk.out, Some(Actuators::SAFE));
        server.tick(&mut desk);
        assert_eq!((&desk.out, server.stats(&desk).link_losses), (&Some(Actuators::SAFE), 1));
        step(&mut server, &mut desk, 4);
        assert_ne!(desk.out, Some(Actuators::SAFE));
    }

    #[test]
    fn at_its_own_pace_a_board_that_gets_no_step_at_all_goes_safe() {
        let (mut server, mut desk) = begun();
        for sequence in 0..4 {
            step(&mut server, &mut desk, sequence);
        }
        assert_ne!(desk.out, Some(Actuators::SAFE));
        assert_eq!(server.handle(&ToBoard::Pace, &mut desk), FromBoard::Done);
        for _ in 0..=HELD_TICKS {
            assert_eq!(server.tick(&mut desk), None);
        }
        assert_eq!((&desk.out, server.stats(&desk).link_losses), (&Some(Actuators::SAFE), 1));
    }

    #[test]
    fn at_its_own_pace_a_board_steps_with_its_timer() {
        let (mut server, mut desk) = begun();
        assert_eq!(server.handle(&ToBoard::Pace, &mut desk), FromBoard::Done);
        assert_eq!(server.tick(&mut desk), None);
        let bytes = frame(&ToBoard::Step { sequence: 0, sensors: sensors(0) }).unwrap();
        assert!(bytes.iter().all(|&byte| server.byte(byte, &mut desk).is_none()));
        let mut here = Controller::new(two_banks()).unwrap();
        for tick in 0..=HELD_TICKS {
            let Some(FromBoard::Answer { sequence: 0, actuators, .. }) = server.tick(&mut desk) else { panic!() };
            assert_eq!(actuators, here.step(&Sensors { tick, ..sensors(0) }));
        }
        assert_eq!(server.tick(&mut desk), None);
        assert_eq!((&desk.out, server.stats(&desk).link_losses), (&Some(Actuators::SAFE), 1));
        for &byte in &frame(&ToBoard::Step { sequence: 1, sensors: sensors(1) }).unwrap() {
            server.byte(byte, &mut desk);
        }
        assert!(matches!(server.tick(&mut desk), Some(FromBoard::Answer { sequence: 1, .. })));
        assert_eq!(server.handle(&ToBoard::End, &mut desk), FromBoard::Done);
        assert_eq!(server.tick(&mut desk), None);
    }
}
