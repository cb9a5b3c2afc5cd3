// Plays an RP2040 firmware in an emulator of the chip: pulses, wheel edges and pack voltage in, bridge
// pins, status LED and telemetry out.
//
//   node play.mjs FIRMWARE.elf < STORY > SEEN
//
// STORY is JSON: { "flash": [[address, [byte, ...]], ...], "parts": [{ "ms", "pulse_us", "rad_s", "counts" }, ...] };
// "restarted" and "hangs_at_ms" besides. pulse_us, rad_s may be null. SEEN has a line of JSON per millisecond: { "ms", "forward", "backward", "top", "enable",
// "status_led", "bytes" }, and at the end { "fed", "bitten" }: how often the watchdog was fed, and how often it bit.
import { readFileSync } from "node:fs";
import { Simulator, GPIOPinState } from "rp2040js";

const FLASH = 0x10000000;
const VECTORS = 0x10000100;
const [THROTTLE, WHEEL, ENABLE, STATUS_LED, SLICE] = [2, 3, 10, 25, 4];
const [BRIDGE, FUNCTION_PWM] = [[8, 9], 4];
const EDGES_PER_TURN = 12;

/** Copies what an ELF file loads into flash. */
function load(elf, flash) {
  const [headers, size, count] = [elf.readUInt32LE(28), elf.readUInt16LE(42), elf.readUInt16LE(44)];
  for (let index = 0; index < count; index += 1) {
    const at = headers + index * size;
    const [kind, offset, , place, bytes] = [0, 4, 8, 12, 16].map((step) => elf.readUInt32LE(at + step));
    if (kind === 1 && bytes > 0 && place >= FLASH) {
      flash.set(elf.subarray(offset, offset + bytes), place - FLASH);
    }
  }
}

const story = JSON.parse(readFileSync(0, "utf8"));
const simulator = new Simulator();
const chip = simulator.rp2040;
const clock = simulator.clock;
chip.logger = { debug() {}, info() {}, warn() {}, error(name, text) { console.error(name, text); } };
load(readFileSync(process.argv[2]), chip.flash);
for (const [address, bytes] of story.flash ?? []) {
  chip.flash.set(bytes, address - FLASH);
}
// What the second boot stage does: on to the vector table.
chip.core.VTOR = VECTORS;
chip.core.SP = chip.readUint32(VECTORS);
chip.core.PC = chip.readUint32(VECTORS + 4) & ~1;

// The emulator's PIO runs whenever the host has time; here it keeps to the chip's clock.
const pio = chip.pio[0];
pio.run = () => {};
let pioDue = 0;
function runPio() {
  const machines = pio.machines.filter((machine) => machine.enabled);
  if (machines.length === 0) {
    pioDue = clock.nanos;
    return;
  }
  const divider = machines[0].clockDivInt + machines[0].clockDivFrac / 256;
  for (; pioDue <= clock.nanos; pioDue += 8 * divider) {
    machines.forEach((machine) => machine.step());
  }
}

let sent = [];
chip.uart[0].onByte = (byte) => sent.push(byte);
let [fed, bitten] = [0, 0];
const watchdog = chip.peripherals[0x40058];
watchdog.reason = story.restarted ? 1 : 0;
// A restart ends the story.
watchdog.onWatchdogTrigger = () => {
  bitten += 1;
  end();
};
const write = watchdog.writeUint32.bind(watchdog);
watchdog.writeUint32 = (offset, value) => {
  fed += offset === 4 ? 1 : 0;
  write(offset, value);
};

function end() {
  console.log(JSON.stringify({ fed, bitten }));
  process.exit(0);
}

const input = { pulse_us: null, rad_s: null, counts: 0 };
/** Runs `then` after so many microseconds, and again after as many as it says. */
function after(us, then) {
  const alarm = clock.createAlarm(() => {
    const next = then();
    if (next !== undefined) alarm.schedule(next * 1000);
  });
  alarm.schedule(us * 1000);
}
const throttle = chip.gpio[THROTTLE];
const wheel = chip.gpio[WHEEL];
throttle.setInputValue(false);
wheel.setInputValue(true);
after(3_000, () => {
  if (input.pulse_us !== null) {
    throttle.setInputValue(true);
    after(input.pulse_us, () => throttle.setInputValue(false));
  }
  return 20_000;
});
after(1_000, () => {
  if (!input.rad_s) return 1_000;
  const between_us = (2e6 * Math.PI) / EDGES_PER_TURN / input.rad_s;
  wheel.setInputValue(false);
  after(between_us / 2, () => wheel.setInputValue(true));
  return between_us;
});

let due = 0;
let ms = 0;
for (const part of story.parts) {
  Object.assign(input, { pulse_us: null, rad_s: null }, part);
  chip.adc.channelValues[0] = input.counts;
  for (const end = ms + part.ms; ms < end; ms += 1) {
    due += 1e6;
    while (clock.nanos < due) {
      if (chip.core.waiting) {
        clock.tick(Math.max(1, Math.min(clock.nanosToNextAlarm, due - clock.nanos)));
      } else {
        clock.tick(chip.core.executeInstruction() * 8);
      }
      runPio();
    }
    if (ms === story.hangs_at_ms) {
      // A branch to itself in the place of what comes next.
      chip.flash16[(chip.core.PC - FLASH) / 2] = 0xe7fe;
    }
    const { cc, top } = chip.pwm.channels[SLICE];
    const high = (pin) => chip.gpio[pin].value === GPIOPinState.High;
    const [forward, backward] = [cc & 0xffff, cc >>> 16];
    const wired = BRIDGE.every((pin) => chip.gpio[pin].functionSelect === FUNCTION_PWM);
    console.log(JSON.stringify({ ms, forward, backward, top, enable: wired && high(ENABLE), status_led: high(STATUS_LED), bytes: sent }));
    sent = [];
  }
}
end();
