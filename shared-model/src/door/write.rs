//! Writes an output as JSON, and refuses one that holds a number that is not finite.

use crate::ModelError;
use serde::{Serialize, ser};
use serde_json::Value;

/// Returns an output as JSON.
///
/// # Errors
/// `not_computable` when a number anywhere in it is not finite, with the path of that number.
pub(super) fn output<T: Serialize>(figures: &T) -> Result<Value, ModelError> {
    let mut path = Vec::new();
    if figures.serialize(Finite { path: &mut path }).is_err() {
        let path = path.concat();
        let path = path.strip_prefix('.').unwrap_or(&path).to_owned();
        let message = format!(
            "'{path}' cannot be computed from this input: the numbers leave what a computer can hold. \
             Look for values that are far too large, or far too close together."
        );
        return Err(ModelError::new("not_computable", message).at(path));
    }
    serde_json::to_value(figures)
        .map_err(|e| ModelError::new("not_computable", format!("The output cannot be written: {e}.")))
}

/// Walks through what is serialised and stops at the first number that is not finite; the path then
/// says where it stood.
struct Finite<'p> {
    path: &'p mut Vec<String>,
}

/// That a number was not finite, or what serde itself objects to.
#[derive(Debug)]
struct Refused;

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a number is not finite")
    }
}
impl std::error::Error for Refused {}
impl ser::Error for Refused {
    fn custom<T: std::fmt::Display>(_: T) -> Self {
        Self
    }
}

impl Finite<'_> {
    fn step<T: Serialize + ?Sized>(&mut self, step: String, value: &T) -> Result<(), Refused> {
        self.path.push(step);
        value.serialize(Finite { path: self.path })?;
        self.path.pop();
        Ok(())
    }
}

macro_rules! always_finite {
    ($($name:ident: $type:ty),* $(,)?) => { $(fn $name(self, _: $type) -> Result<(), Refused> { Ok(()) })* };
}

impl<'p> ser::Serializer for Finite<'p> {
    type Ok = ();
    type Error = Refused;
    type SerializeSeq = Items<'p>;
    type SerializeTuple = Items<'p>;
    type SerializeTupleStruct = Items<'p>;
    type SerializeTupleVariant = Items<'p>;
    type SerializeMap = Members<'p>;
    type SerializeStruct = Members<'p>;
    type SerializeStructVariant = Members<'p>;

    always_finite!(
        serialize_bool: bool, serialize_i8: i8, serialize_i16: i16, serialize_i32: i32, serialize_i64: i64,
        serialize_u8: u8, serialize_u16: u16, serialize_u32: u32, serialize_u64: u64, serialize_char: char,
        serialize_str: &str, serialize_bytes: &[u8], serialize_unit_struct: &'static str,
    );
    fn serialize_f32(self, x: f32) -> Result<(), Refused> {
        self.serialize_f64(f64::from(x))
    }
    fn serialize_f64(self, x: f64) -> Result<(), Refused> {
        if x.is_finite() { Ok(()) } else { Err(Refused) }
    }
    fn serialize_none(self) -> Result<(), Refused> {
        Ok(())
    }
    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Refused> {
        value.serialize(self)
    }
    fn serialize_unit(self) -> Result<(), Refused> {
        Ok(())
    }
    fn serialize_unit_variant(self, _: &'static str, _: u32, _: &'static str) -> Result<(), Refused> {
        Ok(())
    }
    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        value.serialize(self)
    }
    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        mut self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        self.step(format!(".{variant}"), value)
    }
    fn serialize_seq(self, _: Option<usize>) -> Result<Items<'p>, Refused> {
        Ok(Items { at: self, next: 0 })
    }
    fn serialize_tuple(self, _: usize) -> Result<Items<'p>, Refused> {
        Ok(Items { at: self, next: 0 })
    }
    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Items<'p>, Refused> {
        Ok(Items { at: self, next: 0 })
    }
    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Items<'p>, Refused> {
        Ok(Items { at: self, next: 0 })
    }
    fn serialize_map(self, _: Option<usize>) -> Result<Members<'p>, Refused> {
        Ok(Members { at: self, key: String::new() })
    }
    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Members<'p>, Refused> {
        Ok(Members { at: self, key: String::new() })
    }
    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Members<'p>, Refused> {
        Ok(Members { at: self, key: String::new() })
    }
}

struct Items<'p> {
    at: Finite<'p>,
    next: usize,
}

impl Items<'_> {
    fn item<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
        let step = format!("[{}]", self.next);
        self.next += 1;
        self.at.step(step, value)
    }
}

macro_rules! items {
    ($($kind:ident: $item:ident),*) => { $(impl ser::$kind for Items<'_> {
        type Ok = ();
        type Error = Refused;
        fn $item<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> { self.item(value) }
        fn end(self) -> Result<(), Refused> { Ok(()) }
    })* };
}
items!(
    SerializeSeq: serialize_element, SerializeTuple: serialize_element,
    SerializeTupleStruct: serialize_field, SerializeTupleVariant: serialize_field
);

struct Members<'p> {
    at: Finite<'p>,
    key: String,
}

impl ser::SerializeMap for Members<'_> {
    type Ok = ();
    type Error = Refused;
    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Result<(), Refused> {
        self.key = match serde_json::to_value(key) {
            Ok(Value::String(s)) => s,
            Ok(other) => other.to_string(),
            Err(_) => return Err(Refused),
        };
        Ok(())
    }
    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
        let step = format!(".{}", self.key);
        self.at.step(step, value)
    }
    fn end(self) -> Result<(), Refused> {
        Ok(())
    }
}

macro_rules! members {
    ($($kind:ident),*) => { $(impl ser::$kind for Members<'_> {
        type Ok = ();
        type Error = Refused;
        fn serialize_field<T: Serialize + ?Sized>(&mut self, key: &'static str, value: &T) -> Result<(), Refused> {
            self.at.step(format!(".{key}"), value)
        }
        fn end(self) -> Result<(), Refused> { Ok(()) }
    })* };
}
members!(SerializeStruct, SerializeStructVariant);

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;
    use std::collections::BTreeMap;

    #[derive(Serialize)]
    struct Inner {
        list: Vec<f64>,
        pair: [f64; 2],
        gone: Option<f64>,
        named: BTreeMap<&'static str, f64>,
    }
    #[derive(Serialize)]
    struct Outer {
        n: usize,
        inner: Inner,
    }

    fn figures() -> Outer {
        let named = BTreeMap::from([("50", 1.0), ("90", 2.0)]);
        Outer { n: 2, inner: Inner { list: vec![1.0, 2.0], pair: [3.0, 4.0], gone: None, named } }
    }

    #[test]
    fn finite_figures_are_written_as_they_are() {
        assert_eq!(
            output(&figures()),
            Ok(json!({"n": 2, "inner": {"list": [1.0, 2.0], "pair": [3.0, 4.0], "gone": null,
                "named": {"50": 1.0, "90": 2.0}}}))
        );
    }

    #[test]
    fn a_number_that_is_not_finite_is_refused_with_its_path() {
        type Spoil = fn(&mut Outer);
        let spoil: [(&str, Spoil); 4] = [
            ("inner.list[1]", |o| o.inner.list[1] = f64::NAN),
            ("inner.pair[0]", |o| o.inner.pair[0] = f64::INFINITY),
            ("inner.gone", |o| o.inner.gone = Some(f64::NEG_INFINITY)),
            ("inner.named.90", |o| {
                o.inner.named.insert("90", f64::NAN);
            }),
        ];
        for (path, spoil) in spoil {
            let mut figures = figures();
            spoil(&mut figures);
            let e = output(&figures).expect_err(path);
            assert_eq!((e.code, e.field.as_deref()), ("not_computable", Some(path)));
        }
    }
}
