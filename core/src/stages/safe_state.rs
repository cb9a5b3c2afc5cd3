//! What to do without a signal, or after a fault.

/// What to do without a signal, or after the monitor found a fault.
///
/// Braking stops the rig where it is, also on a slope, and then creeps as any shorted motor does.
/// Coasting spares a rig at speed a skid, but it rolls on, and downhill it rolls away.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
pub enum SafeState {
    /// The drag brake, as set.
    #[default]
    Drag,
    /// All switches open.
    Coast,
}

impl SafeState {
    /// All safe states with their names in files.
    pub const NAMED: [(&'static str, Self); 2] = [("drag", Self::Drag), ("coast", Self::Coast)];
}
