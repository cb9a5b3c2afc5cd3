//! A picture for each stage of the controller, drawn from the controller itself.

pub(crate) mod bench;
pub(crate) mod ride;
mod signal;
mod mode;
mod easing;
mod rest;
mod hold;
mod give_way;
mod limits;
mod monitor;

use easeoff::draw::chart::Sheet;

/// Why a picture cannot be drawn.
pub(crate) type Failure = Box<dyn std::error::Error>;

/// All pictures with the names of their files.
pub(crate) fn sheets() -> Result<Vec<(&'static str, Sheet)>, Failure> {
    Ok(vec![
        ("stage-pulse", signal::pulses()?),
        ("stage-curve", signal::curves()?),
        ("stage-slew", signal::slew()?),
        ("stage-mode", mode::modes()?),
        ("stage-drag", easing::onsets()?),
        ("stage-law", easing::laws()?),
        ("stage-rest", rest::rest()?),
        ("stage-hold", hold::loads()?),
        ("stage-give-way", give_way::snag()?),
        ("stage-limits", limits::taken()?),
        ("stage-pack", limits::pack()?),
        ("stage-monitor", monitor::faults()?),
    ])
}
