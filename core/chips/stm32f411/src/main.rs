//! Firmware for a board with an STM32F411 (a Cortex-M4F) and a brushed bridge with two PWM inputs.
//!
//! | pin | what |
//! |---|---|
//! | PA1 | throttle pulse from the receiver, 3.3 V |
//! | PA0 | wheel edges, 3.3 V, pulled up outside |
//! | PA8, PA9 | bridge: forward, backward; pulled down at the bridge |
//! | PB5 | bridge: enable (not sleep); pulled down at the bridge |
//! | PC13 | status LED, lit when low |
//! | PA4 | pack voltage through a divider of 39 over 10 kohm |
//! | PA2 | telemetry, 115,200 bits per second, 8N1 |
//!
//! One loop, once a millisecond: sense, decide, tell the bridge, feed the watchdog. Pulse and edges are
//! captured by a timer to the microsecond, whatever the loop is doing.
#![no_std]
#![no_main]

mod capture;
mod halt;

use cortex_m_rt::entry;
use easeoff_board::{BoardFacts, Divider, EdgeSpeed, EdgeState, Node, Outbox, Sensed};
use easeoff_core::hal::TwoInputBridge;
use easeoff_core::{Command, Input, TickRate};
use embedded_hal::pwm::SetDutyCycle;
use stm32f4xx_hal as hal;

use hal::adc::Adc;
use hal::adc::config::{AdcConfig, SampleTime};
use hal::gpio::PinState;
use hal::pac::Peripherals;
use hal::prelude::*;
use hal::rcc::Config;
use hal::serial::config::Config as Line;
use hal::timer::Timer;
use hal::watchdog::IndependentWatchdog;

/// The page that holds the tune; flash another at its address and the next power-on takes it.
#[expect(unsafe_code, reason = "the page stands at the address at which it can be flashed alone")]
#[unsafe(link_section = ".tune")]
#[used]
static TUNE: [u8; 4_096] = *include_bytes!(concat!(env!("OUT_DIR"), "/tune.page"));

const RATE: TickRate = TickRate::new(1_000).unwrap();

/// Beyond hearing, as far as most bridges like it.
const PWM_KHZ: u32 = 16;

/// Open ticks between driving one way and the other.
const DEAD_TICKS: u8 = 2;

/// Edges per turn of the wheel: what your sensor has.
const EDGES_PER_TURN: u16 = 12;

/// The divider's resistors \[kohm\] and the converter's reference \[V\].
const UPPER: f32 = 39.0;
const LOWER: f32 = 10.0;
const REFERENCE_V: f32 = 3.3;

/// A frame every so many ticks; at 115,200 bits per second some 90 bytes take 8 ms.
const FRAME_EVERY: u32 = 10;

#[entry]
fn main() -> ! {
    // Taken once: this is the only place.
    let Some(chip) = Peripherals::take() else { halt::halt() };
    let watchdog_restart = chip.RCC.csr().read().wdgrstf().bit_is_set();
    chip.RCC.csr().modify(|_, w| w.rmvf().set_bit());
    let mut rcc = chip.RCC.freeze(Config::hsi().sysclk(96.MHz()));
    let gpio_a = chip.GPIOA.split(&mut rcc);
    let gpio_b = chip.GPIOB.split(&mut rcc);
    let gpio_c = chip.GPIOC.split(&mut rcc);

    // The bridge first: until it is told something it is off.
    let (_, (forward, backward, ..)) = Timer::new(chip.TIM1, &mut rcc).pwm_hz(PWM_KHZ.kHz());
    let (mut forward, mut backward) = (forward.with(gpio_a.pa8), backward.with(gpio_a.pa9));
    let _ = (forward.set_duty_cycle(0), backward.set_duty_cycle(0));
    forward.enable();
    backward.enable();
    let enable = gpio_b.pb5.into_push_pull_output();
    let pwm_most = forward.max_duty_cycle().min(backward.max_duty_cycle());
    let mut bridge = TwoInputBridge::new(forward, backward, enable, DEAD_TICKS).ok();

    let mut status_led = gpio_c.pc13.into_push_pull_output();
    let mut line =
        chip.USART2.tx(gpio_a.pa2, Line::default().baudrate(115_200.bps()), &mut rcc).ok();
    let mut adc = Adc::new(chip.ADC1, true, AdcConfig::default(), &mut rcc);
    let pack_pin = gpio_a.pa4.into_analog();
    let divider = Divider::new(4_095, REFERENCE_V, UPPER, LOWER);

    capture::start(chip.TIM5, gpio_a.pa0, gpio_a.pa1, &mut rcc);
    let wheel = EdgeSpeed::new(EDGES_PER_TURN);
    let mut wheel_state = EdgeState::default();

    let facts = BoardFacts {
        rate: RATE,
        wired: Sensed { voltage: true, speed: true, current: false, temperature: false },
        pwm_most,
        fast_pwm: true,
        watchdog_restart,
    };
    let mut node = Node::boot(core::hint::black_box(&TUNE), &facts);
    if bridge.is_none() {
        node.bridge_failed();
    }
    let mut outbox = Outbox::default();
    let mut commanded = Command::Coast;
    let mut ticks = 0_u32;
    let mut clock = chip.TIM3.counter_us(&mut rcc);
    if clock.start(1.millis()).is_err() {
        halt::halt()
    }
    // Ten ticks: long enough for the slowest, short enough that a hung loop lets go of the motor.
    let mut watchdog = IndependentWatchdog::new(chip.IWDG);
    watchdog.start(10.millis());
    loop {
        // Until the tick ends the line gets its bytes. A late tick is not made up for.
        while clock.wait().is_err() {
            if let (Some(line), Some(byte)) = (&mut line, outbox.rest().first())
                && embedded_hal_nb::serial::Write::write(line, *byte).is_ok()
            {
                outbox.sent(1);
            }
        }
        watchdog.feed();

        let seen = capture::take();
        let counts = adc.convert(&pack_pin, SampleTime::Cycles_480);
        let input = Input {
            pulse: seen.pulse,
            speed: wheel
                .as_ref()
                .map(|wheel| wheel.step(&mut wheel_state, seen.edges, seen.now_us, commanded)),
            voltage: divider.and_then(|divider| divider.volts(counts)),
            ..Input::default()
        };
        commanded = node.tick(&input);
        if let Some(bridge) = &mut bridge
            && bridge.apply(commanded).is_err()
        {
            node.bridge_failed();
        }
        status_led.set_state(PinState::from(!node.status_led()));

        ticks = ticks.wrapping_add(1);
        if ticks.is_multiple_of(FRAME_EVERY) && outbox.is_empty() {
            outbox.put(&node.frame());
        }
    }
}
