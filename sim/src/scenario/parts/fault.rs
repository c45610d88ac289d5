//! `[[fault]]`: what goes wrong, when, how much. Faults live in sensors, actuators, clock and link.

use super::command::one_time;
use super::time::Utc;
use crate::scenario::read::context::Context;
use crate::scenario::read::spec::{number, plain, text, whole};
use crate::scenario::read::tagged::Tagged;
use crate::scenario::read::unit::{DEG_H, DEGREE, GRAM_H, HOUR, MS, NONE, OHM, PERCENT, PPM, SECOND};
use crate::{choice, record, union};
use stillframe_controller::ordnance::Event;

/// A fault: its time, and its kind with the amounts that kind needs.
pub type Fault = Tagged<FaultTime, FaultKind>;

record! {
    /// When a fault acts.
    FaultTime checked by check_when {
        /// Begin, UTC.
        utc: Option<Utc> = "at", plain().optional();
        /// Begin, hours since the start.
        after_start_s: Option<f64> = "at_h", number(HOUR, 0.0, 240.0).optional();
        /// How long it lasts; left out: to the end of the run.
        for_s: Option<f64> = "for_s", number(SECOND, 0.01, 864_000.0).optional();
    }
}

impl FaultTime {
    /// Seconds from `start` to the fault's begin.
    pub fn start_s(&self, start: Utc) -> f64 {
        self.after_start_s.or_else(|| self.utc.map(|utc| utc.since_s(start))).unwrap_or(0.0)
    }

    /// Seconds from `start` to the fault's end; infinite if it lasts.
    pub fn end_s(&self, start: Utc) -> f64 {
        self.for_s.map_or(f64::INFINITY, |for_s| self.start_s(start) + for_s)
    }
}

fn check_when(time: &FaultTime, key: &str, cx: &mut Context) {
    one_time(time.utc.is_some(), time.after_start_s.is_some(), key, cx);
}

union! {
    /// What goes wrong.
    FaultKind by "kind" {
        /// The Sun stands in the horizon sensor's scan: tilts are wrong by this much.
        HorizonSun(HorizonTilt) = "horizon_sun",
        /// The horizon sensor's zero moves, at once or by a ramp (cold cloud).
        HorizonBias(HorizonBias) = "horizon_bias",
        /// The horizon sensor repeats its last answer.
        HorizonStuck(Bare) = "horizon_stuck",
        /// The horizon sensor finds no Earth.
        HorizonLost(Bare) = "horizon_lost",
        /// The horizon sensor's noise grows.
        HorizonNoise(NoiseTimes) = "horizon_noise",
        /// The horizon sensor's roll and pitch are exchanged.
        HorizonSwapped(Bare) = "horizon_swapped",
        /// The horizon sensor's roll and pitch have the wrong sign.
        HorizonReversed(Bare) = "horizon_reversed",
        /// A gyro's drift steps.
        GyroBiasStep(GyroBiasStep) = "gyro_bias_step",
        /// A gyro reads zero.
        GyroDead(GyroAxis) = "gyro_dead",
        /// A gyro's scale is wrong.
        GyroScale(GyroScale) = "gyro_scale",
        /// A jet's valve stays open.
        JetStuckOpen(JetNamed) = "jet_stuck_open",
        /// A jet's valve stays shut.
        JetStuckClosed(JetNamed) = "jet_stuck_closed",
        /// A jet gives only part of its thrust.
        JetWeak(JetWeak) = "jet_weak",
        /// A jet's valve is wired to another jet's command, and the other's to this one's.
        JetSwapped(JetSwapped) = "jet_swapped",
        /// Valves open and shut late: one jet's, or all.
        ValveSlow(ValveSlow) = "valve_slow",
        /// The regulator is high or low: all jets give more or less thrust.
        RegulatorOff(RegulatorOff) = "regulator_off",
        /// Gas leaks out, through a jet's seat (with its torque) or from the tank (without).
        GasLeak(GasLeak) = "gas_leak",
        /// Film does not move at the roller.
        FilmJam(FilmJam) = "film_jam",
        /// Film parts.
        FilmBreak(FilmBreak) = "film_break",
        /// The take-up reel's motor gives no torque.
        TakeUpStalled(Bare) = "take_up_stalled",
        /// The supply reel turns freely: its motor gives no torque and its brake does not hold.
        SupplyOverrun(Bare) = "supply_overrun",
        /// The roller's bridge gives a voltage of its own as long as it has power.
        FilmRunaway(FilmRunaway) = "film_runaway",
        /// The roller turns more than the film moves.
        MeteringSlip(MeteringSlip) = "metering_slip",
        /// The load's film speeds are off by whole steps of their table.
        SpeedStepOff(SpeedStepOff) = "speed_step_off",
        /// The load's camera-off is missing; the camera would stay on as long as a load may ask.
        CameraOffLost(Bare) = "camera_off_lost",
        /// Film is threaded so that both reels turn against the sense that the flight code believes.
        ReelSenseReversed(Bare) = "reel_sense_reversed",
        /// The shutter does not close.
        ShutterStuckOpen(Bare) = "shutter_stuck_open",
        /// The shutter does not open.
        ShutterStuckShut(Bare) = "shutter_stuck_shut",
        /// The on-board clock jumps.
        ClockStep(ClockStep) = "clock_step",
        /// The on-board clock runs fast or slow.
        ClockDrift(ClockDrift) = "clock_drift",
        /// Nothing comes up the link.
        LinkLost(Bare) = "link_lost",
        /// Bits of the uplink arrive flipped.
        UplinkGarbled(UplinkGarbled) = "uplink_garbled",
        /// One of the two receivers hears nothing.
        ReceiverDead(ReceiverNamed) = "receiver_dead",
        /// The receiver gives noise where the ground sends nothing.
        ReceiverNoise(Bare) = "receiver_noise",
        /// The receiver has locked onto frames that are sound and for somebody else.
        FalseLock(Bare) = "false_lock",
        /// Every telecommand arrives twice.
        UplinkRepeated(Bare) = "uplink_repeated",
        /// Behind every telecommand the one before it arrives once more.
        UplinkOutOfOrder(Bare) = "uplink_out_of_order",
        /// Orders to the ordnance sequence come up that nobody meant.
        OrdnanceOrders(OrdnanceOrders) = "ordnance_orders",
        /// The arming relay's contacts are welded.
        RelayWelded(SideNamed) = "arming_relay_welded",
        /// The commit switch, which gives current to the firing lines, is welded.
        CommitWelded(SideNamed) = "commit_switch_welded",
        /// A firing line is closed and stays so.
        LineClosed(EventNamed) = "firing_line_closed",
        /// An event of the ordnance chain happens, and its contact never tells.
        EventUnshown(EventNamed) = "event_unshown",
        /// A charge burns its wire and does nothing.
        DudCharge(EventNamed) = "dud_charge",
        /// The capsule does not spin up as it should.
        SpinLow(SpinLow) = "capsule_spin_low",
        /// The capsule's deceleration switch is closed all the time.
        GSwitchClosed(Bare) = "deceleration_switch_closed",
        /// The capsule's deceleration switch never closes.
        GSwitchDead(Bare) = "deceleration_switch_dead",
        /// The timer beside the capsule's processor never runs out.
        BackupTimerDead(Bare) = "backup_timer_dead",
        /// The battery's inner resistance has risen: the bus sags when much is drawn, most of all when film starts.
        BatteryWeak(BatteryWeak) = "battery_weak",
        /// The processor is reset.
        ProcessorReset(ProcessorReset) = "processor_reset",
        /// A bit of memory turns over, in one of the tables or in the load.
        MemoryUpset(MemoryUpset) = "memory_upset",
        /// Control cycles do not end in time.
        CycleOverrun(CycleOverrun) = "cycle_overrun",
    }
}

record! {
    /// A fault that needs no amount.
    Bare {}
}

record! {
    /// Weak battery.
    BatteryWeak {
        /// Inner resistance of battery and harness.
        resistance_ohm: f64 = "resistance_ohm", number(OHM, 0.0, 100.0);
    }
}

record! {
    /// Reset of the processor; it happens at once, so it needs no `for_s`.
    ProcessorReset {
        /// What was kept for it is damaged too.
        store_damaged: bool = "store_damaged", plain().or_flag(false);
    }
}

choice! {
    /// Where memory turns over.
    UpsetPlace {
        /// A gain of the attitude law.
        Gain = "gain",
        /// The film drive's settings.
        Film = "film",
        /// The load in force.
        Load = "load",
    }
}

record! {
    /// Memory gone wrong; it happens at once.
    MemoryUpset {
        /// Where.
        place: UpsetPlace = "where", plain().or_text("gain");
    }
}

record! {
    /// Cycles too long.
    CycleOverrun {
        /// One cycle in so many.
        every: u64 = "every", whole(1.0, 100_000.0).or(1.0);
    }
}

record! {
    /// False tilt.
    HorizonTilt {
        /// Added to the roll answer.
        roll_rad: f64 = "roll_deg", number(DEGREE, -30.0, 30.0);
        /// Added to the pitch answer.
        pitch_rad: f64 = "pitch_deg", number(DEGREE, -30.0, 30.0);
    }
}

record! {
    /// Moved zero.
    HorizonBias {
        /// Added to the roll answer.
        roll_rad: f64 = "roll_deg", number(DEGREE, -30.0, 30.0);
        /// Added to the pitch answer.
        pitch_rad: f64 = "pitch_deg", number(DEGREE, -30.0, 30.0);
        /// Time it takes to grow to that; 0: at once.
        ramp_s: f64 = "ramp_s", number(SECOND, 0.0, 86_400.0).or(0.0);
    }
}

record! {
    /// More noise.
    NoiseTimes {
        /// Factor on the noise.
        times: f64 = "times", number(NONE, 1.0, 1_000.0);
    }
}

choice! {
    /// Body axis.
    Axis {
        /// Roll axis, along track.
        X = "x",
        /// Pitch axis, opposite the orbit normal.
        Y = "y",
        /// Yaw axis, down.
        Z = "z",
    }
}

record! {
    /// A gyro.
    GyroAxis {
        /// Its axis.
        axis: Axis = "axis", plain();
    }
}

record! {
    /// Step of a gyro's drift.
    GyroBiasStep {
        /// Axis of the gyro.
        axis: Axis = "axis", plain();
        /// Added drift.
        step_rad_s: f64 = "step_deg_h", number(DEG_H, -36_000.0, 36_000.0);
    }
}

record! {
    /// Wrong scale of a gyro.
    GyroScale {
        /// Axis of the gyro.
        axis: Axis = "axis", plain();
        /// Added scale error.
        error: f64 = "error_percent", number(PERCENT, -100.0, 100.0);
    }
}

record! {
    /// A jet.
    JetNamed {
        /// Name of the jet.
        jet: String = "jet", text(24);
    }
}

record! {
    /// Weak jet.
    JetWeak {
        /// Name of the jet.
        jet: String = "jet", text(24);
        /// Share of its thrust that is left.
        thrust: f64 = "thrust_percent", number(PERCENT, 0.0, 100.0);
    }
}

record! {
    /// Crossed wires.
    JetSwapped {
        /// Name of the one jet.
        jet: String = "jet", text(24);
        /// Name of the other.
        with: String = "with", text(24);
    }
}

record! {
    /// Late edges.
    ValveSlow {
        /// Name of the jet; left out: all.
        jet: Option<String> = "jet", text(24).optional();
        /// Later opening.
        open_s: f64 = "open_ms", number(MS, 0.0, 1_000.0);
        /// Later closing.
        close_s: f64 = "close_ms", number(MS, 0.0, 1_000.0);
    }
}

record! {
    /// Regulated pressure off its value.
    RegulatorOff {
        /// Thrust of all jets, as a share of nominal; they take gas in proportion.
        thrust: f64 = "thrust_percent", number(PERCENT, 0.0, 300.0);
    }
}

record! {
    /// Leak.
    GasLeak {
        /// Jet whose seat leaks; left out: from the tank, without torque.
        jet: Option<String> = "jet", text(24).optional();
        /// Gas lost.
        rate_kg_s: f64 = "rate_g_h", number(GRAM_H, 0.0, 100_000.0);
    }
}

choice! {
    /// Where film is held.
    JamPlace {
        /// The roller does not turn.
        Roller = "roller",
        /// Film is caught in the gate and the roller slides under it.
        Gate = "gate",
    }
}

record! {
    /// Film that does not move.
    FilmJam {
        /// What is held.
        place: JamPlace = "where", plain().or_text("roller");
    }
}

choice! {
    /// Side of the metering roller.
    FilmSide {
        /// Between supply reel and roller.
        Supply = "supply",
        /// Between roller and take-up reel.
        TakeUp = "take_up",
    }
}

record! {
    /// Parted film.
    FilmBreak {
        /// Where it parts.
        side: FilmSide = "side", plain().or_text("take_up");
    }
}

record! {
    /// A bridge that is stuck.
    FilmRunaway {
        /// Share of the supply voltage that it gives.
        duty: f64 = "duty_percent", number(PERCENT, -100.0, 100.0).or(100.0);
    }
}

record! {
    /// A wrong table of film speeds.
    SpeedStepOff {
        /// Steps added to every speed.
        steps: f64 = "steps", whole(-100.0, 100.0).or(1.0);
    }
}

record! {
    /// Slip at the metering roller.
    MeteringSlip {
        /// Share by which film falls behind the roller.
        slip: f64 = "slip_percent", number(PERCENT, 0.0, 100.0);
    }
}

record! {
    /// Jump of the clock; it happens at once, so it has no `for_s`.
    ClockStep {
        /// Forward is positive.
        step_s: f64 = "step_s", number(SECOND, -3_600.0, 3_600.0);
    }
}

record! {
    /// Drift of the clock.
    ClockDrift {
        /// Fast is positive.
        rate: f64 = "rate_ppm", number(PPM, -10_000.0, 10_000.0);
    }
}

record! {
    /// Flipped bits.
    UplinkGarbled {
        /// Share of bits flipped.
        share: f64 = "bits_percent", number(PERCENT, 0.0, 50.0);
    }
}

choice! {
    /// One of the two receivers.
    ReceiverName {
        /// The one that listens at launch.
        Main = "main",
        /// The other one.
        Alternate = "alternate",
    }
}

record! {
    /// A receiver.
    ReceiverNamed {
        /// Which.
        receiver: ReceiverName = "receiver", plain().or_text("main");
    }
}

choice! {
    /// One of the two ordnance circuits.
    CircuitName {
        /// The vehicle's: cover and separation.
        Vehicle = "vehicle",
        /// The capsule's: all that follows.
        Capsule = "capsule",
    }
}

record! {
    /// An ordnance circuit.
    SideNamed {
        /// Whose.
        circuit: CircuitName = "circuit", plain().or_text("vehicle");
    }
}

choice! {
    /// Item of the ordnance chain.
    OrdnanceEvent {
        /// Cover release.
        CoverRelease = "cover_release",
        /// Capsule separation.
        CapsuleSeparation = "capsule_separation",
        /// Spin.
        Spin = "spin",
        /// Retro ignition.
        RetroIgnition = "retro_ignition",
        /// Despin.
        Despin = "despin",
        /// Motor release.
        MotorRelease = "motor_release",
        /// Drogue.
        Drogue = "drogue",
        /// Main canopy.
        Main = "main",
    }
}

impl OrdnanceEvent {
    /// The flight code's event.
    pub fn event(self) -> Event {
        Event::at(self as u8).unwrap_or(Event::CoverRelease)
    }
}

record! {
    /// Orders that nobody meant.
    OrdnanceOrders {
        /// Event that is asked for.
        event: OrdnanceEvent = "event", plain();
        /// Arming and its confirmation come before it.
        armed: bool = "armed", plain().or_flag(true);
        /// The recovery battery's switch is thrown as well.
        battery: bool = "battery", plain().or_flag(true);
    }
}

record! {
    /// An event of the ordnance chain.
    EventNamed {
        /// Which.
        event: OrdnanceEvent = "event", plain();
    }
}

record! {
    /// Too little spin.
    SpinLow {
        /// Spin reached, as a share of what is wanted.
        share: f64 = "share", number(NONE, 0.0, 1.0).or(0.5);
    }
}

impl FaultKind {
    /// Name of the jet that the fault touches.
    pub fn jet(&self) -> Option<&str> {
        match self {
            Self::JetStuckOpen(named) | Self::JetStuckClosed(named) => Some(&named.jet),
            Self::JetWeak(weak) => Some(&weak.jet),
            Self::GasLeak(leak) => leak.jet.as_deref(),
            Self::JetSwapped(swapped) => Some(&swapped.jet),
            Self::ValveSlow(slow) => slow.jet.as_deref(),
            _ => None,
        }
    }

    /// Name of the second jet, where the fault touches two.
    pub fn other_jet(&self) -> Option<&str> {
        match self {
            Self::JetSwapped(swapped) => Some(&swapped.with),
            _ => None,
        }
    }

    /// Axis of the gyro that the fault touches.
    pub fn axis(&self) -> Option<Axis> {
        match self {
            Self::GyroBiasStep(step) => Some(step.axis),
            Self::GyroDead(gyro) => Some(gyro.axis),
            Self::GyroScale(scale) => Some(scale.axis),
            _ => None,
        }
    }
}
