//! What the sensors say: a vehicle of a few lines, noise from a seed, and a script of everything that can go wrong.

use crate::settings::{Camera, JETS, THRUST_N, load};
use heapless::Vec;
use stillframe_controller::{
    io::{Actuators, FilmSample, HorizonSample, MAX_JETS, OrdnanceSample, Sensors, TICK_S, TICK_US, TankSample},
    packet::{self, Header},
    programme::telecommand::{Correlation, Order},
};

/// Clock correlation sent late in the row: the clock is found five ticks slow.
const CORRELATION: Order = Order::Correlate(Correlation { clock_tick: 18_300, true_tick: 18_305 });

/// Step from which on the sensors say nothing but random bits.
pub const RANDOM_FROM: u32 = 11_400;

/// Orbital rate, rad/s, and moments of inertia, kg·m²: near enough to what the settings believe.
const ORBIT_RAD_S: f32 = 0.00118;
const INERTIA_KG_M2: [f32; 3] = [75.0, 310.0, 310.0];
/// Film that a full duty moves in a second, m, and the roller's counts in a metre.
const FULL_SPEED_M_S: f32 = 0.56;
const COUNTS_PER_M: f32 = 260_759.0;
/// Bytes of a load that come up in one tick.
const CHUNK: usize = 32;
const FRAME: usize = 4_096;

/// Says what the sensors say.
#[derive(Clone, Debug)]
pub struct Stream {
    camera: Camera,
    step: u32,
    random: u32,
    rate_rad_s: [f32; 3],
    angle_rad: [f32; 3],
    valve_open: [bool; MAX_JETS],
    film_m_s: f32,
    film_counts: u32,
    /// Part of a count.
    left_over: f32,
    shutter_open: bool,
    horizon: HorizonSample,
    gas_pa: f32,
    uplink: Vec<u8, FRAME>,
    sent: usize,
}

impl Stream {
    /// Before the first tick: tumbling off the carrier.
    pub fn new(camera: Camera) -> Self {
        Self {
            camera,
            step: 0,
            random: 0x5eed_0001,
            rate_rad_s: [0.004, -0.006, 0.003],
            angle_rad: [0.01, -0.02, 0.0],
            valve_open: [false; MAX_JETS],
            film_m_s: 0.0,
            film_counts: u32::MAX - 5_000,
            left_over: 0.0,
            shutter_open: false,
            horizon: HorizonSample::default(),
            gas_pa: 2e7,
            uplink: Vec::new(),
            sent: 0,
        }
    }

    /// Xorshift (G. Marsaglia, *Xorshift RNGs*, J. Statistical Software 8(14), 2003).
    fn bits(&mut self) -> u32 {
        self.random ^= self.random << 13;
        self.random ^= self.random >> 17;
        self.random ^= self.random << 5;
        self.random
    }

    /// Even between −`most` and `most`.
    fn noise(&mut self, most: f32) -> f32 {
        ((self.bits() >> 8) as f32 * (1.0 / 8_388_608.0) - 1.0) * most
    }

    fn during(&self, from: u32, to: u32) -> bool {
        (from..to).contains(&self.step)
    }

    /// The next tick's sensors.
    pub fn sensors(&mut self) -> Sensors {
        self.radio();
        if self.step.is_multiple_of(10) {
            self.look_at_horizon();
        }
        let mut sensors = Sensors {
            tick: self.tick(),
            gyro_rad_s: self.gyros(),
            horizon: self.horizon,
            tank: TankSample { pressure_pa: self.gas_pa, temperature_k: 290.0 + self.noise(0.1) },
            film: self.film(),
            uplink: self.chunk(),
            separated: self.step >= 100,
            ordnance: OrdnanceSample::default(),
        };
        self.spoil(&mut sensors);
        self.step += 1;
        sensors
    }

    /// The clock stands still for a while and later jumps.
    fn tick(&self) -> u32 {
        match self.step {
            step @ ..10_000 => step,
            10_000..10_040 => 10_000,
            step @ ..10_200 => step - 40,
            step => step + 7_000,
        }
    }

    fn gyros(&mut self) -> [f32; 3] {
        let [x, y, z] = self.rate_rad_s;
        // The roll gyro sees the orbital rate through the yaw angle, the yaw gyro through roll.
        let seen = [x + ORBIT_RAD_S * self.angle_rad[2], y - ORBIT_RAD_S, z - ORBIT_RAD_S * self.angle_rad[0]];
        seen.map(|rate| rate + self.noise(2e-5))
    }

    fn look_at_horizon(&mut self) {
        let [roll, pitch, _] = self.angle_rad;
        self.horizon = HorizonSample {
            sequence: self.horizon.sequence.wrapping_add(1),
            locked: self.step > 1_000 && roll.abs() < 0.3 && pitch.abs() < 0.3,
            roll_rad: roll + self.noise(3e-4),
            pitch_rad: pitch + self.noise(3e-4),
        };
    }

    fn film(&mut self) -> FilmSample {
        let wound = self.film_counts.wrapping_add(5_000);
        FilmSample {
            roller_counts: self.film_counts,
            // A full and an empty reel: 1,065 and 4,074 counts in a metre.
            supply_counts: (u64::from(wound) * 1_065 / 260_759) as u32,
            take_up_counts: (u64::from(wound) * 4_074 / 260_759) as u32,
            supply_arm_m: self.noise(1e-4),
            take_up_arm_m: self.noise(1e-4),
            roller_current_a: 0.1 + self.noise(0.01),
            shutter_open: self.shutter_open,
            sweep_rad: 0.0,
        }
    }

    /// Body, film and shutter do what the outputs ask.
    pub fn follow(&mut self, actuators: &Actuators) {
        let mut torque_nm = [4e-4, -3e-4, 2e-4];
        for (number, edges) in actuators.jets.iter().enumerate() {
            let (Some(open), Some((arm, push))) = (self.valve_open.get_mut(number), JETS.get(number % JETS.len()))
            else {
                continue;
            };
            let opens = edges.open_us.unwrap_or(if *open { 0 } else { TICK_US as u16 });
            let closes = edges.close_us.unwrap_or(TICK_US as u16);
            *open = if edges.close_us.is_some() && (edges.open_us.is_none() || closes >= opens) {
                false
            } else {
                *open || edges.open_us.is_some()
            };
            let mut share = f32::from(closes.saturating_sub(opens)) / TICK_US as f32;
            let latched = actuators.latch_open.get(number / JETS.len()) == Some(&true);
            // A valve of bank A sticks open, one of bank B gives nothing.
            share = match (number, self.step) {
                _ if !latched => 0.0,
                (5, 7_200..) => 1.0,
                (14, 11_000..) => 0.0,
                _ => share,
            };
            for (axis, torque_nm) in torque_nm.iter_mut().enumerate() {
                let (next, last) = ((axis + 1) % 3, (axis + 2) % 3);
                *torque_nm += (arm[next] * push[last] - arm[last] * push[next]) * THRUST_N * share;
            }
        }
        for axis in 0..3 {
            self.rate_rad_s[axis] += torque_nm[axis] / INERTIA_KG_M2[axis] * TICK_S;
            self.angle_rad[axis] += self.rate_rad_s[axis] * TICK_S;
        }
        self.move_film(actuators);
        self.gas_pa -= 0.5;
    }

    fn move_film(&mut self, actuators: &Actuators) {
        let duty = actuators.film.roller_duty;
        let stuck = actuators.film.brake || self.during(4_500, 4_700);
        let wanted = if stuck || duty.is_nan() { 0.0 } else { duty * FULL_SPEED_M_S };
        self.film_m_s += 0.3 * (wanted - self.film_m_s);
        let counts = self.film_m_s * TICK_S * COUNTS_PER_M + self.left_over;
        let whole = counts as i32;
        self.left_over = counts - whole as f32;
        self.film_counts = self.film_counts.wrapping_add_signed(whole);
        let shutter = actuators.shutter;
        self.shutter_open = match (shutter.open_us, shutter.close_us) {
            (Some(open), Some(close)) => close < open,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (None, None) => self.shutter_open,
        };
    }

    /// A load with its commit, a damaged one, an old one, and after the clock's jump one that begins from there; late
    /// on a correlation of the clock.
    fn radio(&mut self) {
        let (counter, from_tick) = match self.step {
            5_100 | 5_120 => (2, 5_150),
            5_300 => (3, 5_350),
            5_500 => (2, 5_550),
            10_400 | 10_420 => (4, 17_450),
            11_350 => return self.send(packet::ORDER, &CORRELATION.encode()),
            _ => return,
        };
        let load = load(counter, from_tick, self.camera);
        if matches!(self.step, 5_120 | 10_420) {
            return self.send(packet::ORDER, &Order::Commit { counter, sum: load.checksum() }.encode());
        }
        self.send(packet::TELECOMMAND, &load.encode());
        if self.step == 5_300
            && let Some(byte) = self.uplink.get_mut(40)
        {
            *byte ^= 4;
        }
    }

    fn send(&mut self, header: Header, data: &[u8]) {
        // Counts that rise.
        let header = Header { count: self.step as u16, ..header };
        // It always fits: a load of ten commands.
        let bytes: Vec<u8, 512> = packet::write(header, &[data]).unwrap_or_default();
        self.uplink.clear();
        self.sent = 0;
        stuff(&bytes, &mut self.uplink);
    }

    fn chunk(&mut self) -> Vec<u8, CHUNK> {
        let rest = self.uplink.get(self.sent..).unwrap_or_default();
        let chunk: Vec<u8, CHUNK> = rest.iter().take(CHUNK).copied().collect();
        self.sent += chunk.len();
        chunk
    }

    /// One thing after the other goes wrong.
    fn spoil(&mut self, sensors: &mut Sensors) {
        match self.step {
            5_700..5_740 => sensors.gyro_rad_s[0] = f32::NAN,
            5_800..5_810 => sensors.gyro_rad_s[1] = f32::from_bits(0xffc0_1234),
            5_900..5_950 => sensors.gyro_rad_s[2] = 1e9,
            6_000..6_050 => sensors.gyro_rad_s[2] = 0.2,
            6_100..6_140 => sensors.horizon.roll_rad = f32::NAN,
            6_200..6_260 => sensors.horizon.pitch_rad += 0.02,
            6_300..6_500 => sensors.horizon.locked = false,
            6_600..6_610 => sensors.tank.pressure_pa = f32::NEG_INFINITY,
            6_620..6_630 => sensors.tank.temperature_k = f32::NAN,
            6_700..6_720 => sensors.film.supply_arm_m = f32::NAN,
            6_800 => sensors.film.roller_counts ^= 1 << 20,
            6_900..6_930 => sensors.film.roller_current_a = f32::INFINITY,
            7_000..7_050 => sensors.separated = false,
            8_450..9_000 => sensors.horizon.locked = false,
            8_000..8_100 => sensors.film.shutter_open = true,
            RANDOM_FROM.. => self.scramble(sensors),
            _ => {}
        }
    }

    fn scramble(&mut self, sensors: &mut Sensors) {
        let mut real = || f32::from_bits(self.bits());
        sensors.gyro_rad_s = [real(), real(), real()];
        sensors.tank = TankSample { pressure_pa: real(), temperature_k: real() };
        let (roll_rad, pitch_rad) = (real(), real());
        let (supply_arm_m, take_up_arm_m, roller_current_a) = (real(), real(), real());
        let bits = self.bits();
        sensors.horizon = HorizonSample { sequence: bits as u8, locked: bits & 0x100 != 0, roll_rad, pitch_rad };
        sensors.film = FilmSample {
            roller_counts: self.bits(),
            supply_counts: self.bits(),
            take_up_counts: self.bits(),
            supply_arm_m,
            take_up_arm_m,
            roller_current_a,
            shutter_open: bits & 0x200 != 0,
            sweep_rad: f32::from_bits(bits),
        };
        sensors.separated = bits & 0x400 != 0;
        sensors.uplink = self.bits().to_le_bytes().into_iter().collect();
        if bits & 0xf000 == 0 {
            sensors.tick = self.bits();
        }
    }
}

/// Zero, COBS encoding, zero: written out plainly, because the library's encoder is what is tested elsewhere.
fn stuff(plain: &[u8], out: &mut Vec<u8, FRAME>) {
    let _ = out.push(0);
    for (number, run) in plain.split(|&byte| byte == 0).enumerate() {
        // Runs of a load are shorter than 254 bytes, for its ticks have high bytes of zero.
        debug_assert!(run.len() < 254, "run {number}");
        let _ = out.push(run.len() as u8 + 1);
        let _ = out.extend_from_slice(run);
    }
    let _ = out.push(0);
}
