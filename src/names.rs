//! One list of names for the values of an enum, for settings, messages and JSON.

/// `names!(Turn, "unknown turn"; LeftRight = "left-right", BottomTop = "bottom-top")` gives an enum `ALL`, `name`, and
/// serde by name. The text opens the error for any other name. `names!(serde Turn, "unknown turn"; LeftRight)` gives
/// serde alone, for an enum that has a `name` already.
macro_rules! names {
    (serde $of:ident, $unknown:literal; $($variant:ident),+ $(,)?) => {
        impl serde::Serialize for $of {
            fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.serialize_str(self.name())
            }
        }
        impl<'de> serde::Deserialize<'de> for $of {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<$of, D::Error> {
                let name = std::borrow::Cow::<str>::deserialize(from)?;
                let known = [$($of::$variant),+].into_iter().find(|v| v.name() == name);
                known.ok_or_else(|| serde::de::Error::custom(format_args!(concat!($unknown, ", \"{}\""), name)))
            }
        }
        #[cfg(test)]
        impl schemars::JsonSchema for $of {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($of).into()
            }

            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!({"type": "string", "enum": [$($of::$variant.name()),+]})
            }
        }
    };
    ($of:ident, $unknown:literal; $($variant:ident = $name:literal),+ $(,)?) => {
        impl $of {
            pub const ALL: &[$of] = &[$($of::$variant),+];

            /// The name in settings, messages and JSON.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $($of::$variant => $name),+ }
            }
        }
        $crate::names::names!(serde $of, $unknown; $($variant),+);
    };
}
pub(crate) use names;
