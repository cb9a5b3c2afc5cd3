//! Firmware for a board with an RP2040 and a brushed bridge with two PWM inputs.
//!
//! | pin | what |
//! |---|---|
//! | GPIO2 | throttle pulse from the receiver, 3.3 V |
//! | GPIO3 | wheel edges, open collector or 3.3 V; pulled up |
//! | GPIO8, GPIO9 | bridge: forward, backward; pulled down at the bridge |
//! | GPIO10 | bridge: enable (not sleep); pulled down at the bridge |
//! | GPIO25 | status LED |
//! | GPIO26 | pack voltage through a divider of 39 over 10 kohm |
//! | GPIO0 | telemetry, 115,200 bits per second, 8N1 |
//!
//! One loop, once a millisecond: sense, decide, tell the bridge, feed the watchdog. The pulse is
//! measured by a PIO state machine and edges by an interrupt, so neither waits for the loop.
#![no_std]
#![no_main]

mod edges;
mod halt;
mod pulse;

use easeoff_board::{BoardFacts, Divider, EdgeSpeed, EdgeState, Node, Outbox, Sensed};
use easeoff_core::hal::TwoInputBridge;
use easeoff_core::{Command, Input, TickRate};
use embedded_hal::digital::{OutputPin, PinState};
use embedded_hal::pwm::SetDutyCycle;
use fugit::{ExtU32, HertzU32, RateExtU32};
use rp2040_hal as hal;

use hal::Clock;
use hal::adc::{Adc, AdcPin};
use hal::gpio::{FunctionUart, Pins};
use hal::pac::Peripherals;
use hal::pio::PIOExt;
use hal::pwm::Slices;
use hal::uart::{DataBits, StopBits, UartConfig, UartPeripheral};
use hal::{Sio, Timer, Watchdog};

use pulse::PulseReader;

#[expect(unsafe_code, reason = "the chip looks for its second boot stage there")]
#[unsafe(link_section = ".boot2")]
#[used]
static BOOT2: [u8; 256] = rp2040_boot2::BOOT_LOADER_W25Q080;

/// The page that holds the tune; flash another at its address and the next power-on takes it.
#[expect(unsafe_code, reason = "the page stands at the address at which it can be flashed alone")]
#[unsafe(link_section = ".tune")]
#[used]
static TUNE: [u8; 4_096] = *include_bytes!(concat!(env!("OUT_DIR"), "/tune.page"));

const CRYSTAL_HZ: u32 = 12_000_000;
const TICK_US: u32 = 1_000;
const RATE: TickRate = TickRate::new(1_000).unwrap();

/// Beyond hearing, as far as most bridges like it.
const PWM_HZ: u32 = 16_000;

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

#[hal::entry]
fn main() -> ! {
    // Taken once: this is the only place.
    let (Some(mut pac), Some(core)) = (Peripherals::take(), hal::pac::CorePeripherals::take())
    else {
        halt::halt()
    };
    let watchdog_restart = pac.WATCHDOG.reason().read().timer().bit_is_set();
    let mut watchdog = Watchdog::new(pac.WATCHDOG);
    let Ok(clocks) = hal::clocks::init_clocks_and_plls(
        CRYSTAL_HZ,
        pac.XOSC,
        pac.CLOCKS,
        pac.PLL_SYS,
        pac.PLL_USB,
        &mut pac.RESETS,
        &mut watchdog,
    ) else {
        halt::halt()
    };
    let system: HertzU32 = clocks.system_clock.freq();
    let timer = Timer::new(pac.TIMER, &mut pac.RESETS, &clocks);
    let sio = Sio::new(pac.SIO);
    let pins = Pins::new(pac.IO_BANK0, pac.PADS_BANK0, sio.gpio_bank0, &mut pac.RESETS);

    // The bridge first: until it is told something it is off.
    let mut pwm = Slices::new(pac.PWM, &mut pac.RESETS).pwm4;
    pwm.default_config();
    let top = system.to_Hz() / PWM_HZ;
    pwm.set_top(u16::try_from(top).unwrap_or(u16::MAX).saturating_sub(1));
    pwm.enable();
    let (mut forward, mut backward) = (pwm.channel_a, pwm.channel_b);
    forward.output_to(pins.gpio8);
    backward.output_to(pins.gpio9);
    let enable = pins.gpio10.into_push_pull_output();
    let pwm_most = forward.max_duty_cycle().min(backward.max_duty_cycle());
    let mut bridge = TwoInputBridge::new(forward, backward, enable, DEAD_TICKS).ok();

    let mut status_led = pins.gpio25.into_push_pull_output();
    let telemetry = UartPeripheral::new(
        pac.UART0,
        (pins.gpio0.into_function::<FunctionUart>(), pins.gpio1.into_function::<FunctionUart>()),
        &mut pac.RESETS,
    )
    .enable(
        UartConfig::new(115_200.Hz(), DataBits::Eight, None, StopBits::One),
        clocks.peripheral_clock.freq(),
    )
    .ok();
    let mut adc = Adc::new(pac.ADC, &mut pac.RESETS);
    let mut pack_pin = AdcPin::new(pins.gpio26.into_floating_input()).ok();
    let divider = Divider::new(4_095, REFERENCE_V, UPPER, LOWER);

    let (mut pio, machine, ..) = pac.PIO0.split(&mut pac.RESETS);
    let mut pulse = PulseReader::new(&mut pio, machine, pins.gpio2, system);
    edges::start(pins.gpio3.into_pull_up_input(), timer, core.NVIC);
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
    // Ten ticks: long enough for the slowest, short enough that a hung loop lets go of the motor.
    watchdog.start(10_u32.millis());
    let mut due_us = timer.get_counter_low();
    loop {
        // A late tick is not made up for: the next one is due a whole tick later.
        while timer.get_counter_low().wrapping_sub(due_us) < TICK_US {}
        due_us = due_us.wrapping_add(TICK_US);
        watchdog.feed();

        let now_us = timer.get_counter_low();
        let counts = pack_pin.as_mut().and_then(|pin| adc.read(pin).ok());
        let input = Input {
            pulse: pulse.as_mut().and_then(PulseReader::take),
            speed: wheel
                .as_ref()
                .map(|wheel| wheel.step(&mut wheel_state, edges::count(), now_us, commanded)),
            voltage: divider.zip(counts).and_then(|(divider, counts)| divider.volts(counts)),
            ..Input::default()
        };
        commanded = node.tick(&input);
        if let Some(bridge) = &mut bridge
            && bridge.apply(commanded).is_err()
        {
            node.bridge_failed();
        }
        let _ = status_led.set_state(PinState::from(node.status_led()));

        ticks = ticks.wrapping_add(1);
        if ticks.is_multiple_of(FRAME_EVERY) && outbox.is_empty() {
            outbox.put(&node.frame());
        }
        if let Some(line) = &telemetry {
            let rest = outbox.rest();
            // Takes what there is room for and never waits.
            if let Ok(left) = line.write_raw(rest) {
                let sent = rest.len().saturating_sub(left.len());
                outbox.sent(sent);
            }
        }
    }
}
