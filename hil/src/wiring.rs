//! Wires between plant and board, and wires that are not as drawn: swapped or reversed.

use std::{fmt, str::FromStr};
use stillframe_controller::io::{Actuators, Edges, MAX_JETS, Sensors};

/// What a wire carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Signal {
    /// A signed quantity; reversed, it changes its sign.
    Number(f32),
    /// A counter; reversed, it counts the other way.
    Count(u32),
    /// On or off; reversed, it says the contrary.
    Flag(bool),
    /// Edges of a valve or shutter; they cannot be reversed.
    Edges(Edges),
}

impl Signal {
    fn reversed(self) -> Self {
        match self {
            Self::Number(value) => Self::Number(-value),
            Self::Count(value) => Self::Count(value.wrapping_neg()),
            Self::Flag(value) => Self::Flag(!value),
            Self::Edges(edges) => Self::Edges(edges),
        }
    }

    fn kind(self) -> u8 {
        match self {
            Self::Number(_) => 0,
            Self::Count(_) => 1,
            Self::Flag(_) => 2,
            Self::Edges(_) => 3,
        }
    }
}

/// Declares wires once: their names, where they live, and their kind.
macro_rules! wires {
    ($(#[$doc:meta])* $enum:ident of $of:ident { $($name:ident, $text:literal, $kind:ident, $($path:tt).+;)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $enum {
            $( #[doc = concat!("`", $text, "`.")] $name, )*
        }

        impl $enum {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// Name on the command line and in tables.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$name => $text,)* }
            }

            /// What it carries.
            pub fn get(self, of: &$of) -> Signal {
                match self { $(Self::$name => Signal::$kind(wires!(@ of, $($path).+)),)* }
            }

            fn set(self, of: &mut $of, signal: Signal) {
                match (self, signal) {
                    $((Self::$name, Signal::$kind(value)) => wires!(@ of, $($path).+) = value,)*
                    // Only signals of one kind are ever exchanged.
                    _ => {}
                }
            }
        }
    };
    (@ $of:ident, gyro.$index:tt) => { $of.gyro_rad_s[$index] };
    (@ $of:ident, latch.$index:tt) => { $of.latch_open[$index] };
    (@ $of:ident, $($path:tt).+) => { $of.$($path).+ };
}

wires! {
    /// A wire from a sensor to the board.
    SensorWire of Sensors {
        GyroX, "gyro.x", Number, gyro.0;
        GyroY, "gyro.y", Number, gyro.1;
        GyroZ, "gyro.z", Number, gyro.2;
        HorizonRoll, "horizon.roll", Number, horizon.roll_rad;
        HorizonPitch, "horizon.pitch", Number, horizon.pitch_rad;
        HorizonLocked, "horizon.locked", Flag, horizon.locked;
        TankPressure, "tank.pressure", Number, tank.pressure_pa;
        TankTemperature, "tank.temperature", Number, tank.temperature_k;
        FilmRoller, "film.roller", Count, film.roller_counts;
        FilmSupply, "film.supply", Count, film.supply_counts;
        FilmTakeUp, "film.take_up", Count, film.take_up_counts;
        SupplyArm, "film.supply_arm", Number, film.supply_arm_m;
        TakeUpArm, "film.take_up_arm", Number, film.take_up_arm_m;
        RollerCurrent, "film.current", Number, film.roller_current_a;
        ShutterLight, "shutter.light", Flag, film.shutter_open;
        Separated, "separated", Flag, separated;
    }
}

wires! {
    /// A wire from the board to an actuator, valves of jets apart.
    ActuatorWire of Actuators {
        LatchA, "latch.a", Flag, latch.0;
        LatchB, "latch.b", Flag, latch.1;
        MotorRoller, "motor.roller", Number, film.roller_duty;
        MotorSupply, "motor.supply", Number, film.supply_duty;
        MotorTakeUp, "motor.take_up", Number, film.take_up_duty;
        Brake, "brake", Flag, film.brake;
        Clamp, "clamp", Flag, film.clamp;
        Shutter, "shutter", Edges, shutter;
        Transmitter, "transmitter", Flag, transmit;
    }
}

/// A wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wire {
    /// From a sensor.
    Sensor(SensorWire),
    /// To a jet's valve, counted from zero.
    Jet(usize),
    /// To another actuator.
    Actuator(ActuatorWire),
}

impl FromStr for Wire {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if let Some(wire) = SensorWire::ALL.iter().find(|wire| wire.name() == text) {
            return Ok(Self::Sensor(*wire));
        }
        if let Some(wire) = ActuatorWire::ALL.iter().find(|wire| wire.name() == text) {
            return Ok(Self::Actuator(*wire));
        }
        let jet = text.strip_prefix("jet.").and_then(|number| number.parse::<usize>().ok());
        jet.filter(|jet| (1..=MAX_JETS).contains(jet)).map(|jet| Self::Jet(jet - 1)).ok_or_else(|| {
            let sensors = SensorWire::ALL.iter().map(|wire| wire.name());
            let actuators = ActuatorWire::ALL.iter().map(|wire| wire.name());
            let names: Vec<_> = sensors.chain(actuators).collect();
            format!("{text} is no wire; there are {}, jet.1 to jet.{MAX_JETS}", names.join(", "))
        })
    }
}

impl fmt::Display for Wire {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Sensor(wire) => write!(f, "{}", wire.name()),
            Self::Actuator(wire) => write!(f, "{}", wire.name()),
            Self::Jet(jet) => write!(f, "jet.{}", jet + 1),
        }
    }
}

impl Wire {
    /// All wires that carry something when the vehicle has so many jets.
    pub fn all(jets: usize) -> Vec<Self> {
        let sensors = SensorWire::ALL.iter().copied().map(Self::Sensor);
        let actuators = ActuatorWire::ALL.iter().copied().map(Self::Actuator);
        sensors.chain(actuators).chain((0..jets).map(Self::Jet)).collect()
    }

    /// Whether it could be taken for the other: both carry the same sort of thing, the same way.
    pub fn like(self, other: Self) -> bool {
        let same_side = matches!(self, Self::Sensor(_)) == matches!(other, Self::Sensor(_));
        self.kind() == other.kind() && same_side
    }

    /// Whether it has a sign to reverse.
    pub fn has_sign(self) -> bool {
        self.kind() != Signal::Edges(Edges::NONE).kind()
    }

    fn kind(self) -> u8 {
        match self {
            Self::Sensor(wire) => wire.get(&still()).kind(),
            Self::Actuator(wire) => wire.get(&Actuators::SAFE).kind(),
            Self::Jet(_) => Signal::Edges(Edges::NONE).kind(),
        }
    }
}

/// Sensors of a vehicle that has left its carrier, level, still and with nothing moving on board.
pub fn still() -> Sensors {
    Sensors {
        tick: 0,
        gyro_rad_s: [0.0; 3],
        horizon: stillframe_controller::io::HorizonSample { locked: true, ..Default::default() },
        tank: stillframe_controller::io::TankSample { pressure_pa: 2.0e7, temperature_k: 293.15 },
        film: stillframe_controller::io::FilmSample::default(),
        uplink: heapless::Vec::new(),
        separated: true,
        ordnance: stillframe_controller::io::OrdnanceSample::default(),
    }
}

/// Two wires exchanged, as `A:B`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Swap(pub Wire, pub Wire);

impl FromStr for Swap {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (a, b) = text.split_once(':').ok_or("write two wires with a colon between them, as gyro.x:gyro.y")?;
        let (a, b) = (a.parse::<Wire>()?, b.parse::<Wire>()?);
        if !a.like(b) {
            return Err(format!("{a} and {b} carry different things; only like wires can be exchanged"));
        }
        Ok(Self(a, b))
    }
}

/// A wire reversed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reverse(pub Wire);

impl FromStr for Reverse {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wire: Wire = text.parse()?;
        if !wire.has_sign() {
            return Err(format!("{wire} opens and closes; it has no sign to reverse. Exchange it with another"));
        }
        Ok(Self(wire))
    }
}

/// All that is not as drawn.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wiring {
    /// Wires exchanged.
    pub swaps: Vec<Swap>,
    /// Wires reversed.
    pub reverses: Vec<Reverse>,
}

impl Wiring {
    /// What reaches the board of `sensors`.
    pub fn sensors(&self, sensors: &Sensors) -> Sensors {
        let mut out = sensors.clone();
        for swap in &self.swaps {
            if let Swap(Wire::Sensor(a), Wire::Sensor(b)) = swap {
                let (at_a, at_b) = (a.get(&out), b.get(&out));
                a.set(&mut out, at_b);
                b.set(&mut out, at_a);
            }
        }
        for Reverse(wire) in &self.reverses {
            if let Wire::Sensor(wire) = wire {
                let reversed = wire.get(&out).reversed();
                wire.set(&mut out, reversed);
            }
        }
        out
    }

    /// What reaches the vehicle of `actuators`.
    pub fn actuators(&self, mut actuators: Actuators) -> Actuators {
        let signal = |wire: &Wire, from: &Actuators| match wire {
            Wire::Jet(jet) => from.jets.get(*jet).map(|edges| Signal::Edges(*edges)),
            Wire::Actuator(wire) => Some(wire.get(from)),
            Wire::Sensor(_) => None,
        };
        let put = |wire: &Wire, to: &mut Actuators, signal: Option<Signal>| match (wire, signal) {
            (Wire::Jet(jet), Some(Signal::Edges(edges))) => {
                if let Some(place) = to.jets.get_mut(*jet) {
                    *place = edges;
                }
            }
            (Wire::Actuator(wire), Some(signal)) => wire.set(to, signal),
            _ => {}
        };
        for Swap(a, b) in &self.swaps {
            let (at_a, at_b) = (signal(a, &actuators), signal(b, &actuators));
            put(a, &mut actuators, at_b);
            put(b, &mut actuators, at_a);
        }
        for Reverse(wire) in &self.reverses {
            let reversed = signal(wire, &actuators).map(Signal::reversed);
            put(wire, &mut actuators, reversed);
        }
        actuators
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn swaps_and_reversals_act_on_their_wires_alone() {
        let wiring = Wiring {
            swaps: vec!["gyro.x:gyro.y".parse().expect("a swap"), "jet.1:jet.5".parse().expect("a swap")],
            reverses: vec!["horizon.roll".parse().expect("a reversal"), "film.roller".parse().expect("a reversal")],
        };
        let mut sensors = still();
        sensors.gyro_rad_s = [1.0, 2.0, 3.0];
        sensors.horizon.roll_rad = 0.5;
        sensors.film.roller_counts = 7;
        let seen = wiring.sensors(&sensors);
        assert_eq!((seen.gyro_rad_s, seen.horizon.roll_rad), ([2.0, 1.0, 3.0], -0.5));
        assert_eq!(seen.film.roller_counts, 7_u32.wrapping_neg());
        let mut actuators = Actuators::SAFE;
        actuators.jets[0] = Edges { open_us: Some(5), close_us: None };
        let seen = wiring.actuators(actuators);
        assert_eq!((seen.jets[0], seen.jets[4].open_us), (Edges::CLOSE, Some(5)));
    }

    #[test]
    fn unlike_wires_and_unsigned_ones_are_refused() {
        for text in
            ["gyro.x", "gyro.x:film.roller", "gyro.x:motor.roller", "gyro.w:gyro.x", "jet.0:jet.1", "jet.17:jet.1"]
        {
            assert!(text.parse::<Swap>().is_err(), "{text}");
        }
        for text in ["jet.1", "shutter", "nothing"] {
            assert!(text.parse::<Reverse>().is_err(), "{text}");
        }
    }
}
