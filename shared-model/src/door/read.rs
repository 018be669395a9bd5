//! Reads typed fields from a JSON input; whatever is wrong is said with the path of the field.
//!
//! Fields that a method does not know are ignored. `null` counts as a field left out.

use crate::{ModelError, moment::Moment};
use serde_json::Value;

/// A value of the input, and where it stands.
#[derive(Debug, Clone)]
pub(super) struct Field<'a> {
    value: &'a Value,
    path: String,
}

impl<'a> Field<'a> {
    /// Starts at the input as a whole, which has to be an object.
    pub(super) fn root(input: &'a Value) -> Result<Self, ModelError> {
        match input {
            Value::Object(_) => Ok(Self { value: input, path: String::new() }),
            other => Err(ModelError::new(
                "wrong_type",
                format!("The input is {}; it has to be an object.", shown(other)),
            )),
        }
    }

    /// Returns a field of this object, or `None` when it is left out or null.
    pub(super) fn find(&self, name: &str) -> Option<Self> {
        let value = self.value.get(name).filter(|v| !v.is_null())?;
        Some(Self { value, path: self.path_of(name) })
    }

    /// Returns a field of this object, which has to be there.
    pub(super) fn need(&self, name: &str) -> Result<Self, ModelError> {
        if !self.value.is_object() {
            return Err(self.wrong_type("an object"));
        }
        self.find(name).ok_or_else(|| {
            let path = self.path_of(name);
            ModelError::new("missing_field", format!("The field '{path}' is missing.")).at(path)
        })
    }

    fn path_of(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_owned() } else { format!("{}.{name}", self.path) }
    }

    /// Returns where this value stands, for example `groups[3].distance_m`.
    pub(super) fn path(&self) -> &str {
        &self.path
    }

    /// Returns the value as it came.
    pub(super) fn raw(&self) -> &'a Value {
        self.value
    }

    /// Makes an error about this field.
    pub(super) fn wrong(&self, code: &'static str, what: impl std::fmt::Display) -> ModelError {
        let named = if self.path.is_empty() { "The input".to_owned() } else { format!("'{}'", self.path) };
        ModelError::new(code, format!("{named} {what}.")).at(self.path.clone())
    }

    /// Refuses fields of other names, where one that is misspelt would read as nothing found.
    pub(super) fn only(&self, names: &[&str]) -> Result<(), ModelError> {
        let Some(fields) = self.value.as_object() else { return Ok(()) };
        let Some(name) = fields.keys().find(|name| !names.contains(&name.as_str())) else { return Ok(()) };
        let shown: String = name.chars().take(60).collect();
        Err(self.wrong("unknown_field", format!("has no field `{shown}`; it has {}", names.join(", "))))
    }

    /// Returns the value as a finite number.
    pub(super) fn number(&self) -> Result<f64, ModelError> {
        let number = self.value.as_f64().ok_or_else(|| self.wrong_type("a number"))?;
        if number.is_finite() { Ok(number) } else { Err(self.wrong("not_finite", "is not a finite number")) }
    }

    /// Returns the value as a number from `low` to `high`, both allowed.
    pub(super) fn number_within(&self, low: f64, high: f64) -> Result<f64, ModelError> {
        let number = self.number()?;
        if (low..=high).contains(&number) {
            return Ok(number);
        }
        Err(self.wrong("out_of_range", format_args!("is {number}; it has to be from {low} to {high}")))
    }

    /// Returns the value as a number above 0.
    pub(super) fn number_above_zero(&self) -> Result<f64, ModelError> {
        let number = self.number()?;
        if number > 0.0 {
            return Ok(number);
        }
        Err(self.wrong("out_of_range", format_args!("is {number}; it has to be above 0")))
    }

    /// Returns the value as a number above 0 and below 1, such as a confidence.
    pub(super) fn fraction(&self) -> Result<f64, ModelError> {
        let number = self.number()?;
        if number > 0.0 && number < 1.0 {
            return Ok(number);
        }
        Err(self.wrong(
            "out_of_range",
            format_args!("is {number}; it has to lie between 0 and 1, for example 0.95"),
        ))
    }

    /// Returns the value as a whole number of 0 or more.
    pub(super) fn count(&self) -> Result<usize, ModelError> {
        let number = self.value.as_u64().or_else(|| whole(self.value.as_f64()?));
        number
            .and_then(|n| usize::try_from(n).ok())
            .ok_or_else(|| self.wrong_type("a whole number of 0 or more"))
    }

    /// Returns the value as text.
    pub(super) fn text(&self) -> Result<&'a str, ModelError> {
        self.value.as_str().ok_or_else(|| self.wrong_type("text"))
    }

    /// Returns the value as a moment.
    pub(super) fn moment(&self) -> Result<Moment, ModelError> {
        Moment::read(self.text()?).map_err(|e| e.at(self.path.clone()))
    }

    /// Returns the value as a label: text, or a number written as text.
    pub(super) fn label(&self) -> Result<String, ModelError> {
        match self.value {
            Value::String(s) => Ok(s.clone()),
            Value::Number(n) => Ok(n.to_string()),
            _ => Err(self.wrong_type("a label (text or a number)")),
        }
    }

    /// Returns the values of a list.
    pub(super) fn list(&self) -> Result<Vec<Self>, ModelError> {
        let values = self.array("a list")?.iter().enumerate();
        Ok(values.map(|(i, value)| Self { value, path: format!("{}[{i}]", self.path) }).collect())
    }

    /// Returns the members of an object by name; null ones are `None`.
    pub(super) fn members(&self) -> Result<Vec<(&'a str, Option<Self>)>, ModelError> {
        let members = self.value.as_object().ok_or_else(|| self.wrong_type("an object"))?;
        Ok(members.keys().map(|name| (name.as_str(), self.find(name))).collect())
    }

    /// Returns a list of labels.
    pub(super) fn labels(&self) -> Result<Vec<String>, ModelError> {
        self.list()?.iter().map(Field::label).collect()
    }

    /// Returns a list of whole numbers of 0 or more.
    pub(super) fn counts(&self) -> Result<Vec<usize>, ModelError> {
        self.list()?.iter().map(Field::count).collect()
    }

    /// Returns a list of at least `least` finite numbers.
    pub(super) fn numbers(&self, least: usize) -> Result<Vec<f64>, ModelError> {
        let values = self.array("a list of numbers")?;
        self.enough(values.len(), least, "numbers")?;
        values.iter().enumerate().map(|(i, v)| finite(v).ok_or_else(|| self.not_a_number(v, &[i]))).collect()
    }

    /// Returns the rows of a matrix: lists of numbers, all of one length.
    pub(super) fn matrix(&self) -> Result<Vec<Vec<f64>>, ModelError> {
        let rows: Vec<Vec<f64>> = self.list()?.iter().map(|row| row.numbers(1)).collect::<Result<_, _>>()?;
        let width = rows.first().map_or(0, Vec::len);
        if let Some(i) = rows.iter().position(|row| row.len() != width) {
            let what = format!(
                "has {} numbers where the first row has {width}; all rows are of one length",
                rows[i].len()
            );
            return Err(Self { value: self.value, path: format!("{}[{i}]", self.path) }
                .wrong("length_mismatch", what));
        }
        Ok(rows)
    }

    /// Returns a point, `[x, y]`.
    pub(super) fn point(&self) -> Result<[f64; 2], ModelError> {
        self.pair(self.value, &[])
    }

    /// Returns a list of at least `least` points.
    pub(super) fn points(&self, least: usize) -> Result<Vec<[f64; 2]>, ModelError> {
        let values = self.array("a list of points [x, y]")?;
        self.enough(values.len(), least, "points")?;
        values.iter().enumerate().map(|(i, v)| self.pair(v, &[i])).collect()
    }

    fn pair(&self, value: &Value, at: &[usize]) -> Result<[f64; 2], ModelError> {
        let Some([x, y]) = value.as_array().map(Vec::as_slice) else {
            return Err(self
                .below(at)
                .wrong("wrong_type", format_args!("is {}; a point is [x, y]", shown(value))));
        };
        let read = |v, i| finite(v).ok_or_else(|| self.not_a_number(v, &[at, &[i]].concat()));
        Ok([read(x, 0)?, read(y, 1)?])
    }

    fn not_a_number(&self, value: &Value, at: &[usize]) -> ModelError {
        self.below(at).wrong("wrong_type", format_args!("is {}; it has to be a finite number", shown(value)))
    }

    /// Returns this field with the path of what stands in it; paths are written only for messages.
    fn below(&self, at: &[usize]) -> Self {
        let steps: String = at.iter().map(|i| format!("[{i}]")).collect();
        Self { value: self.value, path: format!("{}{steps}", self.path) }
    }

    fn array(&self, wanted: &str) -> Result<&'a Vec<Value>, ModelError> {
        self.value.as_array().ok_or_else(|| self.wrong_type(wanted))
    }

    fn enough(&self, have: usize, least: usize, what: &str) -> Result<(), ModelError> {
        if have >= least {
            return Ok(());
        }
        Err(self.wrong("too_few", format_args!("has {have} {what}; at least {least} are needed")))
    }

    fn wrong_type(&self, wanted: &str) -> ModelError {
        self.wrong("wrong_type", format_args!("is {}; it has to be {wanted}", shown(self.value)))
    }
}

fn finite(value: &Value) -> Option<f64> {
    value.as_f64().filter(|x| x.is_finite())
}

/// Whole numbers that came with a decimal point (3.0), as some programs write them.
fn whole(x: f64) -> Option<u64> {
    ((0.0..9e15).contains(&x) && x == libm::floor(x)).then_some(x as u64)
}

/// Shows a value in a message without repeating all of a long one.
fn shown(value: &Value) -> String {
    match value {
        Value::Null => "null".to_owned(),
        Value::Bool(b) => b.to_string(),
        Value::Number(n) => n.to_string(),
        Value::String(s) if s.chars().count() <= 30 => format!("the text '{s}'"),
        Value::String(s) => format!("the text '{}…'", s.chars().take(30).collect::<String>()),
        Value::Array(a) => format!("a list of {}", a.len()),
        Value::Object(_) => "an object".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[track_caller]
    fn check<T: std::fmt::Debug>(got: Result<T, ModelError>, code: &str, field: &str) {
        let e = got.expect_err("wrong input");
        assert_eq!((e.code, e.field.as_deref()), (code, Some(field)), "{}", e.message);
    }

    #[test]
    fn what_is_wrong_is_said_with_its_path() {
        let input = json!({
            "none": null, "word": "x", "half": 0.5, "minus": -1, "points": [[1, 2], [3, "y"], [4]],
            "groups": [{"n": 1}, {"n": {}}], "rows": [[1, 2], [3]],
        });
        let root = Field::root(&input).expect("an object");
        let need = |name| root.need(name).expect("there");
        check(root.need("gone"), "missing_field", "gone");
        check(root.need("none"), "missing_field", "none");
        check(need("word").number(), "wrong_type", "word");
        check(need("half").count(), "wrong_type", "half");
        check(need("minus").number_above_zero(), "out_of_range", "minus");
        check(need("minus").fraction(), "out_of_range", "minus");
        check(need("minus").number_within(0.0, 1.0), "out_of_range", "minus");
        check(need("points").points(4), "too_few", "points");
        check(need("points").points(1), "wrong_type", "points[1][1]");
        check(need("points").list().expect("a list")[2].point(), "wrong_type", "points[2]");
        check(need("rows").matrix(), "length_mismatch", "rows[1]");
        let groups = need("groups").list().expect("a list");
        check(groups[1].need("n").expect("there").count(), "wrong_type", "groups[1].n");
        check(groups[0].need("m"), "missing_field", "groups[0].m");
        check(need("word").need("x"), "wrong_type", "word");
    }

    #[test]
    fn what_is_right_is_read() {
        let input = json!({"p": [[1, 2.5]], "n": 3.0, "l": ["a", 7], "o": {"b": 1, "a": null}});
        let root = Field::root(&input).expect("an object");
        let need = |name| root.need(name).expect("there");
        assert_eq!(need("p").points(1), Ok(vec![[1.0, 2.5]]));
        assert_eq!(need("n").count(), Ok(3));
        assert_eq!(need("l").labels(), Ok(vec!["a".to_owned(), "7".to_owned()]));
        assert_eq!(need("o").need("b").expect("there").path, "o.b");
        assert!(need("o").find("a").is_none());
        let members = need("o").members().expect("an object");
        assert!(
            matches!(members.as_slice(), [("a", None), ("b", Some(b))] if b.path == "o.b"),
            "{members:?}"
        );
        assert_eq!(need("l").raw(), &json!(["a", 7]));
    }
}
