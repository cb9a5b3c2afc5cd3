//! Pictures of a sweep: a heat map, a curve, a trade-off. Each tells its numbers when pointed at.

mod curve;
mod frame;
mod heat;
mod trade_off;

pub use curve::Curve;
pub(crate) use frame::{Frame, Scale};
pub use heat::HeatMap;
pub use trade_off::TradeOff;

use plotters::prelude::DrawingBackend;

pub(crate) type Drawn<B> =
    Result<(), plotters::drawing::DrawingAreaErrorKind<<B as DrawingBackend>::ErrorType>>;

/// Width and height \[pixels\].
pub(crate) const SIZE: (u32, u32) = (1_160, 700);
