//! Registers, interrupts and memory marks: all `unsafe` of the image is in this folder.

pub mod clock;
pub mod edge_timer;
pub mod fault;
pub mod gpio;
#[cfg(feature = "log")]
mod logger;
pub mod priority;
pub mod semihost;
pub mod serial;
pub mod stack;
pub mod timers;

use core::ops::Deref;
use stm32f4::{Reg, RegisterSpec, Resettable, Writable, stm32f405 as pac};

macro_rules! registers {
    ($($name:ident = $peripheral:ident),* $(,)?) => {
        $(
            #[doc = concat!("Registers of ", stringify!($peripheral), ".")]
            #[inline(always)]
            pub fn $name() -> &'static <pac::$peripheral as Deref>::Target {
                // SAFETY: the registers are where the chip has them and stay there; every access is volatile.
                unsafe { &*pac::$peripheral::ptr() }
            }
        )*
    };
}

registers!(
    flash = FLASH,
    gpio_a = GPIOA,
    gpio_b = GPIOB,
    gpio_c = GPIOC,
    iwdg = IWDG,
    rcc = RCC,
    tim2 = TIM2,
    tim5 = TIM5,
    tim8 = TIM8,
    usart1 = USART1,
    usart2 = USART2,
);

/// Writes a whole register.
#[inline(always)]
pub fn put<R: RegisterSpec + Writable + Resettable>(register: &Reg<R>, bits: R::Ux) {
    register.write(|w| {
        // SAFETY: no register used here starts a transfer into memory; a wrong value gives a wrong output only.
        unsafe { w.bits(bits) }
    });
}

/// Stands where a panic would be reported in an image that cannot panic: there is no such function, so that an image
/// that could panic does not link.
#[cfg(feature = "never-panic")]
pub fn never_reached() -> ! {
    unsafe extern "C" {
        fn stillframe_this_image_can_panic() -> !;
    }
    // SAFETY: never called; see above.
    unsafe { stillframe_this_image_can_panic() }
}
