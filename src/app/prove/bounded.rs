//! Bounded lists and maps of a document.
//!
//! In: JSON. Out: lists and maps with a bounded number of entries, and lists of texts joined into one. In memory a list of
//! empty strings takes eight times its size; with these bounds a document takes a few times its size. Refuses longer lists.

use serde::de::{Deserialize, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

/// A list of at most `MOST` entries, for `deserialize_with`.
pub(super) fn few<'de, const MOST: usize, D, T>(from: D) -> Result<Vec<T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    struct Few<T, const MOST: usize>(PhantomData<T>);
    impl<'de, T: Deserialize<'de>, const MOST: usize> Visitor<'de> for Few<T, MOST> {
        type Value = Vec<T>;

        fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
            write!(f, "a list of at most {MOST} entries")
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Vec<T>, A::Error> {
            let mut out = Vec::new();
            while let Some(one) = list.next_element()? {
                out.push(one);
                if out.len() == MOST {
                    return match list.next_element::<IgnoredAny>()? {
                        None => Ok(out),
                        Some(_) => Err(A::Error::invalid_length(MOST + 1, &self)),
                    };
                }
            }
            Ok(out)
        }
    }
    from.deserialize_seq(Few::<T, MOST>(PhantomData))
}

/// A map of at most `MOST` entries, for `deserialize_with`.
pub(super) fn few_by_name<'de, const MOST: usize, D>(from: D) -> Result<BTreeMap<String, String>, D::Error>
where
    D: Deserializer<'de>,
{
    struct Few<const MOST: usize>;
    impl<'de, const MOST: usize> Visitor<'de> for Few<MOST> {
        type Value = BTreeMap<String, String>;

        fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
            write!(f, "at most {MOST} names with their texts")
        }

        fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
            let mut out = BTreeMap::new();
            while let Some((name, text)) = map.next_entry()? {
                out.insert(name, text);
                if out.len() > MOST {
                    return Err(A::Error::invalid_length(out.len(), &self));
                }
            }
            Ok(out)
        }
    }
    from.deserialize_map(Few::<MOST>)
}

/// The texts of a list, joined by blanks.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Together {
    pub text: String,
    /// Number of texts.
    pub count: usize,
}

impl<'de> Deserialize<'de> for Together {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Together, D::Error> {
        struct Texts;
        impl<'de> Visitor<'de> for Texts {
            type Value = Together;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a list of texts")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Together, A::Error> {
                let mut out = Together::default();
                while let Some(one) = list.next_element::<String>()? {
                    if out.count > 0 {
                        out.text.push(' ');
                    }
                    out.text.push_str(&one);
                    out.count += 1;
                }
                Ok(out)
            }
        }
        from.deserialize_seq(Texts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_beyond_their_bound_are_refused_and_texts_run_together() {
        #[derive(serde::Deserialize, Debug)]
        struct Two {
            #[serde(deserialize_with = "few::<2, _, _>")]
            list: Vec<u8>,
            #[serde(deserialize_with = "few_by_name::<1, _>")]
            map: BTreeMap<String, String>,
            texts: Together,
        }
        let read = |list: &str, map: &str| {
            serde_json::from_str::<Two>(&format!("{{\"list\":{list},\"map\":{map},\"texts\":[\"M 0 0\",\"Z\"]}}"))
        };
        let good = read("[1,2]", "{\"a\":\"b\"}").unwrap();
        assert_eq!((good.list, good.map.len()), (vec![1, 2], 1));
        assert_eq!(good.texts, Together { text: "M 0 0 Z".to_owned(), count: 2 });
        assert!(read("[1,2,3]", "{}").unwrap_err().to_string().contains("at most 2 entries"));
        assert!(read("[]", "{\"a\":\"b\",\"c\":\"d\"}").unwrap_err().to_string().contains("at most 1 names"));
    }
}
