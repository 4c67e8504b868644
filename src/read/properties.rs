//! The properties of a feature, by name: kept as they stand in its text, understood when asked for.
//!
//! The same for every reader. As in a JSON object, the last of equal names holds. Not here: what a
//! property means (see [`crate::read::attributes`]).

use std::borrow::Cow;
use std::fmt;

use geojson::JsonObject;
use serde_json::{Number, Value as Json};

/// A value, understood.
#[derive(Clone, Debug, PartialEq)]
pub enum Value<'a> {
    /// `null`
    Null,
    /// `true` or `false`
    Flag(bool),
    /// A number.
    Number(Number),
    /// Text.
    Text(Cow<'a, str>),
    /// An array or an object.
    Compound(Cow<'a, Json>),
}

impl<'a> From<&'a Json> for Value<'a> {
    fn from(value: &'a Json) -> Self {
        match value {
            Json::Null => Self::Null,
            Json::Bool(flag) => Self::Flag(*flag),
            Json::Number(number) => Self::Number(number.clone()),
            Json::String(text) => Self::Text(Cow::Borrowed(text)),
            Json::Array(_) | Json::Object(_) => Self::Compound(Cow::Borrowed(value)),
        }
    }
}

impl<'a> Value<'a> {
    /// As text: text itself trimmed, numbers and truth values written out; none when empty.
    #[must_use]
    pub fn text(self) -> Option<Cow<'a, str>> {
        let text = match self {
            Self::Text(Cow::Borrowed(text)) => Cow::Borrowed(text.trim()),
            Self::Text(Cow::Owned(text)) => Cow::Owned(text.trim().to_owned()),
            Self::Number(number) => Cow::Owned(number.to_string()),
            Self::Flag(flag) => Cow::Borrowed(if flag { "true" } else { "false" }),
            Self::Null | Self::Compound(_) => return None,
        };
        (!text.is_empty()).then_some(text)
    }
}

/// One property.
#[derive(Clone, Debug)]
pub struct Member<'a> {
    name: Cow<'a, str>,
    value: Held<'a>,
}

#[derive(Clone, Debug)]
enum Held<'a> {
    /// JSON without escapes, checked already.
    Text(Cow<'a, str>),
    Json(Json),
}

impl<'a> Member<'a> {
    /// From the text of its name and of its value, which were checked to be JSON; `is_plain` where
    /// neither has an escape, or a number with an exponent. None where they cannot be decoded.
    #[must_use]
    pub fn written(name: &'a str, value: &'a str, is_plain: bool) -> Option<Self> {
        if !is_plain {
            return Some(Self {
                name: Cow::Owned(serde_json::from_str(name).ok()?),
                value: Held::Json(serde_json::from_str(value).ok()?),
            });
        }
        Some(Self {
            name: Cow::Borrowed(within_quotes(name)?),
            value: Held::Text(Cow::Borrowed(value)),
        })
    }

    /// A value that is understood already.
    #[must_use]
    pub const fn known(name: Cow<'a, str>, value: Json) -> Self {
        Self {
            name,
            value: Held::Json(value),
        }
    }

    fn into_owned(self) -> Member<'static> {
        Member {
            name: Cow::Owned(self.name.into_owned()),
            value: match self.value {
                Held::Text(text) => Held::Text(Cow::Owned(text.into_owned())),
                Held::Json(value) => Held::Json(value),
            },
        }
    }

    fn value(&self) -> Value<'_> {
        let text = match &self.value {
            Held::Json(value) => return Value::from(value),
            Held::Text(text) => text.as_ref(),
        };
        if let Some(text) = within_quotes(text) {
            return Value::Text(Cow::Borrowed(text));
        }
        match text {
            "null" => Value::Null,
            "true" => Value::Flag(true),
            "false" => Value::Flag(false),
            _ => match self.json() {
                Json::Number(number) => Value::Number(number),
                compound => Value::Compound(Cow::Owned(compound)),
            },
        }
    }

    fn json(&self) -> Json {
        match &self.value {
            Held::Json(value) => value.clone(),
            Held::Text(text) => serde_json::from_str(text).unwrap_or_default(),
        }
    }
}

/// What stands in quotes, of a text that is JSON.
#[inline]
#[must_use]
pub fn within_quotes(text: &str) -> Option<&str> {
    match text.as_bytes() {
        [b'"', inside @ .., b'"'] => text.get(1..=inside.len()),
        _ => None,
    }
}

/// Properties in the order of the file. No [`Cow`], which could not be lent for less than it lives.
#[derive(Clone)]
enum Members<'a> {
    Borrowed(&'a [Member<'a>]),
    Owned(Vec<Member<'a>>),
}

impl Default for Members<'_> {
    fn default() -> Self {
        Self::Borrowed(&[])
    }
}

impl<'a> std::ops::Deref for Members<'a> {
    type Target = [Member<'a>];

    fn deref(&self) -> &[Member<'a>] {
        match self {
            Self::Borrowed(members) => members,
            Self::Owned(members) => members,
        }
    }
}

/// The properties of a feature.
#[derive(Clone, Default)]
pub struct Properties<'a> {
    members: Members<'a>,
    /// The marks of all names.
    marks: u64,
}

impl<'a> Properties<'a> {
    /// In the order of the file.
    #[must_use]
    pub fn new(members: &'a [Member<'a>]) -> Self {
        Self {
            members: Members::Borrowed(members),
            marks: marks(members),
        }
    }

    /// The property of exactly this name.
    #[must_use]
    pub fn exactly(&self, name: &str) -> Option<Value<'_>> {
        self.member(name).map(Member::value)
    }

    /// The property of this name whatever the case of letters; of several the first by name.
    #[must_use]
    pub fn alike(&self, name: &str) -> Option<Value<'_>> {
        self.member_alike(name).map(Member::value)
    }

    /// The property of exactly this name, else [`Self::alike`].
    #[must_use]
    pub fn named(&self, name: &str) -> Option<Value<'_>> {
        if self.marks & mark(name) == 0 {
            return None;
        }
        self.member(name)
            .or_else(|| self.member_alike(name))
            .map(Member::value)
    }

    fn member(&self, name: &str) -> Option<&Member<'a>> {
        self.members.iter().rev().find(|it| it.name == name)
    }

    fn member_alike(&self, name: &str) -> Option<&Member<'a>> {
        self.members
            .iter()
            .rev()
            .filter(|it| it.name.eq_ignore_ascii_case(name))
            .min_by(|a, b| a.name.cmp(&b.name))
    }

    /// As a JSON object.
    #[must_use]
    pub fn object(&self) -> JsonObject {
        self.members
            .iter()
            .map(|it| (it.name.clone().into_owned(), it.json()))
            .collect()
    }

    /// The same without the text that it came from.
    #[must_use]
    pub fn into_owned(self) -> Properties<'static> {
        let members = match self.members {
            Members::Borrowed(members) => members.iter().cloned().map(Member::into_owned).collect(),
            Members::Owned(members) => members.into_iter().map(Member::into_owned).collect(),
        };
        Properties {
            members: Members::Owned(members),
            marks: self.marks,
        }
    }
}

impl From<JsonObject> for Properties<'_> {
    fn from(object: JsonObject) -> Self {
        let members = object.into_iter();
        members
            .map(|(name, value)| Member::known(Cow::Owned(name), value))
            .collect::<Vec<_>>()
            .into()
    }
}

impl<'a> From<Vec<Member<'a>>> for Properties<'a> {
    fn from(members: Vec<Member<'a>>) -> Self {
        Self {
            marks: marks(&members),
            members: Members::Owned(members),
        }
    }
}

impl fmt::Debug for Properties<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.object().fmt(f)
    }
}

fn marks(members: &[Member<'_>]) -> u64 {
    members
        .iter()
        .fold(0, |marks, member| marks | mark(&member.name))
}

/// One of 64 marks, the same for names that differ in the case of letters: most names that are not
/// there are known by it without a comparison.
fn mark(name: &str) -> u64 {
    let fold = |byte: Option<&u8>| usize::from(byte.map_or(0, |byte| byte | 0x20));
    let bytes = name.as_bytes();
    1 << ((bytes.len() * 7 + fold(bytes.first()) + 3 * fold(bytes.last())) % 64)
}
