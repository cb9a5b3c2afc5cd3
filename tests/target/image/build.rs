//! Where the machines that QEMU plays have their memory.
#![allow(clippy::expect_used, clippy::panic, reason = "a build that cannot go on stops")]

use std::path::PathBuf;
use std::{env, fs};

fn main() {
    let target = env::var("TARGET").expect("cargo names the target");
    // The M3 and M4F boards are Arm's MPS2 with its memory remapped; the M0 is an nRF51822.
    let (flash, ram) = match target.as_str() {
        "thumbv6m-none-eabi" => ("256K", "16K"),
        "thumbv7m-none-eabi" | "thumbv7em-none-eabihf" => ("4M", "4M"),
        other => panic!("no machine for {other}; see cargo xtask chip"),
    };
    let folder = PathBuf::from(env::var_os("OUT_DIR").expect("cargo names a folder"));
    let memory = format!(
        "MEMORY {{ FLASH : ORIGIN = 0x00000000, LENGTH = {flash} RAM : ORIGIN = 0x20000000, LENGTH = {ram} }}"
    );
    fs::write(folder.join("memory.x"), memory).expect("the folder can be written to");
    println!("cargo:rustc-link-search={}", folder.display());
    println!("cargo:rustc-link-arg-bins=-Tlink.x");
    println!("cargo:rerun-if-changed=build.rs");
}
