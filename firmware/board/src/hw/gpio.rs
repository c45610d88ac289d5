//! Pins and pulse-width outputs.

use super::{gpio_a, gpio_b, gpio_c, put, tim8};
use crate::pins::{self, Place, functions, modes, outputs};
use core::convert::Infallible;
use embedded_hal::{
    digital::{self, OutputPin},
    pwm::{self, SetDutyCycle},
};
use stillframe_drivers::outputs::Pins;

/// Clock of the pulse-width timer, Hz: the same whatever the processor's clock, which is a multiple of it.
const PULSE_CLOCK_HZ: u32 = 16_000_000;
/// Counts of a period: 20 kHz, which nobody hears.
const PERIOD: u16 = 800;

/// An output pin. Made only here, from the table of outputs.
#[derive(Debug)]
pub struct Pin(Place);

impl digital::ErrorType for Pin {
    type Error = Infallible;
}

impl OutputPin for Pin {
    fn set_low(&mut self) -> Result<(), Infallible> {
        write(self.0.port, 1 << 16 << (self.0.number & 15));
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        write(self.0.port, 1 << (self.0.number & 15));
        Ok(())
    }
}

/// Sets (low half) and clears (high half) pins of a port in one stroke.
fn write(port: u8, bits: u32) {
    match port {
        0 => put(gpio_a().bsrr(), bits),
        1 => put(gpio_b().bsrr(), bits),
        _ => put(gpio_c().bsrr(), bits),
    }
}

/// A pulse-width output: a channel of timer 8, 0 to 3.
#[derive(Debug)]
pub struct Pulse(u8);

impl pwm::ErrorType for Pulse {
    type Error = Infallible;
}

impl SetDutyCycle for Pulse {
    fn max_duty_cycle(&self) -> u16 {
        PERIOD
    }

    fn set_duty_cycle(&mut self, duty: u16) -> Result<(), Infallible> {
        let (timer, duty) = (tim8(), u32::from(duty));
        match self.0 {
            0 => put(timer.ccr1(), duty),
            1 => put(timer.ccr2(), duty),
            2 => put(timer.ccr3(), duty),
            _ => put(timer.ccr4(), duty),
        }
        Ok(())
    }
}

/// All output lines low and all duties off: the fault handlers' way, which needs no driver.
pub fn all_low() {
    for port in 0..3 {
        write(port, outputs(port) << 16);
    }
    // Main output off: the four duty pins go low with it.
    put(tim8().bdtr(), 0);
}

/// Makes the pins of the tables outputs or hands them to their peripherals, low from the first moment.
pub fn start(clock_hz: u32) -> Pins<Pin, Pulse> {
    all_low();
    put(gpio_a().afrl(), const { functions(0, 0) });
    put(gpio_a().afrh(), const { functions(0, 1) });
    put(gpio_c().afrl(), const { functions(2, 0) });
    put(gpio_c().afrh(), const { functions(2, 1) });
    start_pulses(clock_hz);
    // What the chip has at reset: debug pins on ports A and B.
    put(gpio_a().moder(), const { modes(0, 0xa800_0000) });
    put(gpio_b().moder(), const { modes(1, 0x0000_0280) });
    put(gpio_c().moder(), const { modes(2, 0) });
    Pins {
        valves: pins::VALVES.map(Pin),
        latches: pins::LATCHES.map(Pin),
        shutter: Pin(pins::SHUTTER),
        slit: pins::SLIT.map(Pin),
        transmit: Pin(pins::TRANSMIT),
        brake_off: Pin(pins::BRAKE_OFF),
        clamp_off: Pin(pins::CLAMP_OFF),
        reverse: pins::REVERSE.map(Pin),
        ordnance: pins::ORDNANCE.map(Pin),
        duties: [0, 1, 2, 3].map(Pulse),
    }
}

fn start_pulses(clock_hz: u32) {
    let timer = tim8();
    put(timer.psc(), (clock_hz / PULSE_CLOCK_HZ).saturating_sub(1));
    put(timer.arr(), u32::from(PERIOD) - 1);
    // Both channels of each register: pulse-width mode 1 (110), compare value taken over at the period's end.
    const BOTH: u32 = 6 << 4 | 1 << 3 | 6 << 12 | 1 << 11;
    put(timer.ccmr1_output(), BOTH);
    put(timer.ccmr2_output(), BOTH);
    // Channels 1 to 4 on.
    put(timer.ccer(), 0x1111);
    timer.egr().write(|w| w.ug().set_bit());
    timer.cr1().write(|w| w.arpe().set_bit().cen().set_bit());
    timer.bdtr().write(|w| w.moe().set_bit());
}
