//! Settings by name: `pitch.deadband_deg`, or `*.deadband_deg` for all three axes at once.

use stillframe_controller::{
    attitude::settings::JetSettings,
    io::MAX_JETS,
    settings::{Settings, Visitor},
    settings_table::{Field, Group, in_range},
};

/// Names of the axes, as the settings' groups are called.
pub const AXES: [&str; 3] = ["roll", "pitch", "yaw"];

/// One number of the settings.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Group and key, with a point between.
    pub key: String,
    /// Its line of the table.
    pub field: Field,
    /// Its value.
    pub value: f64,
}

/// Every number of the settings but the jets', in file order.
pub fn entries(settings: &Settings) -> Vec<Entry> {
    struct List(Vec<Entry>);
    impl Visitor for List {
        fn group<G: Group>(&mut self, group: &mut G) {
            self.0.extend(G::FIELDS.iter().enumerate().map(|(index, field)| Entry {
                key: format!("{}.{}", G::NAME, field.key),
                field: *field,
                value: group.get(index).unwrap_or(f64::NAN),
            }));
        }
        fn jets(&mut self, _: &mut heapless::Vec<JetSettings, MAX_JETS>) {}
    }
    let mut list = List(Vec::new());
    settings.clone().visit(&mut list);
    list.0
}

/// The keys that `key` stands for: itself, or one for each axis.
pub fn expanded(key: &str) -> Vec<String> {
    match key.strip_prefix("*.") {
        Some(rest) => AXES.iter().map(|axis| format!("{axis}.{rest}")).collect(),
        None => vec![key.to_owned()],
    }
}

/// Line of the table behind `key`, if there is one.
pub fn field(settings: &Settings, key: &str) -> Option<Field> {
    let wanted = expanded(key).into_iter().next()?;
    entries(settings).into_iter().find(|entry| entry.key == wanted).map(|entry| entry.field)
}

/// Value of `key`; of the first axis for a name with `*`.
pub fn get(settings: &Settings, key: &str) -> Option<f64> {
    let wanted = expanded(key).into_iter().next()?;
    entries(settings).into_iter().find(|entry| entry.key == wanted).map(|entry| entry.value)
}

/// Sets `key` to `value`, a count to the nearest whole number. Gives back whether there is such a key and it takes
/// the value; otherwise nothing is changed.
pub fn set(settings: &mut Settings, key: &str, value: f64) -> bool {
    struct Set<'a> {
        group: &'a str,
        key: &'a str,
        value: f64,
        done: bool,
    }
    impl Visitor for Set<'_> {
        fn group<G: Group>(&mut self, group: &mut G) {
            if G::NAME != self.group {
                return;
            }
            if let Some(index) = G::FIELDS.iter().position(|field| field.key == self.key) {
                self.done = group.set(index, self.value) || group.set(index, self.value.round());
            }
        }
        fn jets(&mut self, _: &mut heapless::Vec<JetSettings, MAX_JETS>) {}
    }
    let mut changed = settings.clone();
    for name in expanded(key) {
        let Some((group, key)) = name.split_once('.') else { return false };
        let mut visitor = Set { group, key, value, done: false };
        changed.visit(&mut visitor);
        if !visitor.done {
            return false;
        }
    }
    *settings = changed;
    true
}

/// Sets `key` to the value nearest to `value` that its range allows; gives back what was set.
pub fn set_near(settings: &mut Settings, key: &str, value: f64) -> Option<f64> {
    let field = field(settings, key)?;
    let near = if in_range(&field, value) { value } else { value.clamp(field.min, field.max) };
    set(settings, key, near).then_some(())?;
    get(settings, key)
}

/// Keys at which two settings differ, with both values.
pub fn differences(a: &Settings, b: &Settings) -> Vec<(Entry, f64)> {
    let pairs = entries(a).into_iter().zip(entries(b));
    pairs.filter(|(one, other)| one.value != other.value).map(|(one, other)| (one, other.value)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_found_and_set_by_name() {
        let mut settings = Settings::default();
        assert!(set(&mut settings, "*.deadband_deg", 0.25));
        assert_eq!([settings.roll.deadband_deg, settings.pitch.deadband_deg, settings.yaw.deadband_deg], [0.25; 3]);
        assert!(set(&mut settings, "yaw.lockout_ms", 149.6));
        assert_eq!(get(&settings, "yaw.lockout_ms"), Some(150.0));
        let differ = differences(&Settings::default(), &settings);
        assert_eq!(differ.iter().map(|(entry, _)| entry.key.as_str()).collect::<Vec<_>>().len(), 3, "{differ:?}");
    }

    #[test]
    fn what_is_unknown_or_out_of_range_changes_nothing() {
        let mut settings = Settings::default();
        for (key, value) in [("pitch.deadband", 0.2), ("deadband_deg", 0.2), ("pitch.fill", 2.0), ("*.fill", f64::NAN)]
        {
            assert!(!set(&mut settings, key, value), "{key}");
        }
        assert_eq!(settings, Settings::default());
        assert_eq!(set_near(&mut settings, "pitch.fill", 2.0).map(|v| v as f32), Some(0.95));
    }
}
