//! The program `easeoff`, from its command line to its files. [`runner`] starts it, each time in a folder
//! of its own: no test changes this process, as its neighbours run in other threads of it.

mod compare;
mod drive;
#[cfg(target_os = "linux")]
mod faults;
mod fit;
mod flash;
mod foreign;
mod gearing;
mod goals;
mod help;
mod inspect;
mod never_moved;
mod own_controller;
mod rigs;
mod runner;
mod sweep;
#[cfg(unix)]
mod sweep_resume;
mod throttle;
mod trials;
