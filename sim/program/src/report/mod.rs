//! Pages, tables and records: what a run or a study says, in words and HTML.

pub mod html;
pub mod text_table;
pub mod page;
pub mod publish;
pub mod sweep;
#[cfg(feature = "parquet")]
pub mod parquet;
pub mod goals;
pub mod gearing;
pub mod gearing_table;
pub mod inspect;
pub mod trials;
pub mod fit;
pub mod throttle;
pub mod own_controller;
