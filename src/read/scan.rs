//! One pass over the text of a GeoJSON feature: is it JSON, where does it end, what lies where.
//!
//! Every byte is checked against RFC 8259, but nothing is built: positions go to a buffer that is
//! used again, properties are slices of the text. Whatever is odd is said to be so and left to the full
//! parser (see [`crate::read::geojson`]), which has the last word and the error. Not here: reading
//! files (see [`crate::read::stream`]) or what members mean.

use super::eight::{self, POWERS};
use super::feature::Bounds;
use super::positions::{Kind, Positions};
use super::properties::Member;

/// Why a scan stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// The text ends before the value does.
    End,
    /// The text is not JSON, or nests deeper than the full parser goes.
    NotJson,
}

type Scan<T> = Result<T, Stop>;

/// No feature nests deeper; the full parser allows 128 levels in a document.
const DEEPEST: usize = 100;

/// A number of up to this many digits is an exact integer in a double (2^53 has 16 digits).
const EXACT_DIGITS: usize = 15;

/// A number as it was written.
#[derive(Clone, Copy, Debug)]
struct Numeral {
    start: usize,
    is_negative: bool,
    /// All its digits, before the point and behind it, as one number where that is exact.
    digits: u64,
    decimals: usize,
    /// Whether it is no more than a sign, a few digits and a point.
    is_exact: bool,
}

/// What one pass over a feature found.
#[derive(Clone, Copy, Debug, Default)]
pub struct Glance<'a> {
    /// Its geometry's box in the file's own coordinates; none where there is none or it is odd.
    pub bounds: Option<Bounds>,
    /// The text of its `id`.
    pub id: Option<&'a str>,
    has_properties: bool,
    /// The type of its geometry.
    pub kind: Option<Kind>,
    /// Whether it has something that only the full parser can judge.
    pub is_odd: bool,
}

/// The name of a member that a feature or its geometry has, or another, with its quotes.
#[derive(Clone, Copy, Debug)]
enum Name<'a> {
    Type,
    Id,
    Properties,
    Geometry,
    Coordinates,
    Other(&'a str),
}

/// A place in a text.
#[derive(Debug)]
pub struct Scanner<'a> {
    text: &'a str,
    at: usize,
    /// How many escapes and numbers came by that have to be decoded to be judged.
    doubts: usize,
}

impl<'a> Scanner<'a> {
    /// At a place of a text.
    #[must_use]
    pub const fn new(text: &'a str, at: usize) -> Self {
        Self {
            text,
            at,
            doubts: 0,
        }
    }

    /// The place, in bytes from the start.
    #[must_use]
    pub const fn at(&self) -> usize {
        self.at
    }

    fn bytes(&self) -> &'a [u8] {
        self.text.as_bytes()
    }

    #[inline]
    fn peek(&self) -> Scan<u8> {
        self.bytes().get(self.at).copied().ok_or(Stop::End)
    }

    /// Skips white space; the byte there, not taken.
    ///
    /// # Errors
    /// At the end of the text.
    #[inline]
    pub fn ahead(&mut self) -> Scan<u8> {
        loop {
            match self.peek()? {
                b' ' | b'\n' | b'\r' | b'\t' => self.at += 1,
                byte => return Ok(byte),
            }
        }
    }

    /// Takes white space and this byte.
    ///
    /// # Errors
    /// When something else is there.
    #[inline]
    pub fn take(&mut self, wanted: u8) -> Scan<()> {
        if self.ahead()? == wanted {
            self.at += 1;
            Ok(())
        } else {
            Err(Stop::NotJson)
        }
    }

    /// After a value in an object or array: whether another follows.
    ///
    /// # Errors
    /// When neither a comma nor the closing bracket is there.
    #[inline]
    pub fn goes_on(&mut self, close: u8) -> Scan<bool> {
        let byte = self.ahead()?;
        self.at += 1;
        match byte {
            b',' => Ok(true),
            _ if byte == close => Ok(false),
            _ => Err(Stop::NotJson),
        }
    }

    /// Takes an opening bracket; whether anything is inside.
    ///
    /// # Errors
    /// When something else is there.
    #[inline]
    pub fn opens(&mut self, open: u8, close: u8) -> Scan<bool> {
        self.take(open)?;
        let is_empty = self.ahead()? == close;
        if is_empty {
            self.at += 1;
        }
        Ok(!is_empty)
    }

    /// Takes a key and its colon; the key with its quotes, as it was written.
    ///
    /// # Errors
    /// When something else is there.
    pub fn key(&mut self) -> Scan<&'a str> {
        if self.ahead()? != b'"' {
            return Err(Stop::NotJson);
        }
        let start = self.at;
        self.string()?;
        let key = self.text.get(start..self.at).unwrap_or_default();
        self.take(b':')?;
        Ok(key)
    }

    /// Takes a name and its colon.
    #[inline]
    fn name(&mut self) -> Scan<Name<'a>> {
        self.ahead()?;
        let rest = self.bytes().get(self.at..).unwrap_or_default();
        let (usual, name): (&[u8], _) = match rest.get(1) {
            Some(b't') => (b"\"type\":", Name::Type),
            Some(b'i') => (b"\"id\":", Name::Id),
            Some(b'p') => (b"\"properties\":", Name::Properties),
            Some(b'g') => (b"\"geometry\":", Name::Geometry),
            _ => (b"\"coordinates\":", Name::Coordinates),
        };
        if rest.starts_with(usual) {
            self.at += usual.len();
            return Ok(name);
        }
        Ok(match self.key()? {
            "\"type\"" => Name::Type,
            "\"id\"" => Name::Id,
            "\"properties\"" => Name::Properties,
            "\"geometry\"" => Name::Geometry,
            "\"coordinates\"" => Name::Coordinates,
            other => Name::Other(other),
        })
    }

    /// Takes a value of any kind; its text.
    ///
    /// # Errors
    /// When it is not JSON.
    pub fn value(&mut self) -> Scan<&'a str> {
        self.ahead()?;
        let start = self.at;
        self.skip(0)?;
        Ok(self.text.get(start..self.at).unwrap_or_default())
    }

    fn skip(&mut self, depth: usize) -> Scan<()> {
        if depth > DEEPEST {
            return Err(Stop::NotJson);
        }
        match self.ahead()? {
            b'"' => self.string(),
            b'{' => {
                let mut more = self.opens(b'{', b'}')?;
                while more {
                    self.key()?;
                    self.skip(depth + 1)?;
                    more = self.goes_on(b'}')?;
                }
                Ok(())
            }
            b'[' => {
                let mut more = self.opens(b'[', b']')?;
                while more {
                    self.skip(depth + 1)?;
                    more = self.goes_on(b']')?;
                }
                Ok(())
            }
            b't' => self.word(b"true"),
            b'f' => self.word(b"false"),
            b'n' => self.word(b"null"),
            b'-' | b'0'..=b'9' => self.numeral().map(|_| ()),
            _ => Err(Stop::NotJson),
        }
    }

    fn word(&mut self, word: &[u8]) -> Scan<()> {
        for wanted in word {
            if self.peek()? != *wanted {
                return Err(Stop::NotJson);
            }
            self.at += 1;
        }
        Ok(())
    }

    /// Takes a string; its quote is next.
    #[inline]
    fn string(&mut self) -> Scan<()> {
        self.at += 1;
        let bytes = self.bytes();
        loop {
            self.at += eight::plain_length(bytes.get(self.at..).unwrap_or_default());
            let byte = self.peek()?;
            self.at += 1;
            match byte {
                b'"' => return Ok(()),
                b'\\' => self.escape()?,
                0..=0x1F => return Err(Stop::NotJson),
                _ => {}
            }
        }
    }

    fn escape(&mut self) -> Scan<()> {
        self.doubts += 1;
        let byte = self.peek()?;
        self.at += 1;
        match byte {
            b'"' | b'\\' | b'/' | b'b' | b'f' | b'n' | b'r' | b't' => Ok(()),
            b'u' => {
                for _ in 0..4 {
                    if !self.peek()?.is_ascii_hexdigit() {
                        return Err(Stop::NotJson);
                    }
                    self.at += 1;
                }
                Ok(())
            }
            _ => Err(Stop::NotJson),
        }
    }

    /// Takes digits, adding them to a number while it is exact; how many there were.
    #[inline]
    fn digits(&mut self, number: &mut u64) -> usize {
        let mut count = 0;
        for byte in self.bytes().get(self.at..).unwrap_or_default() {
            let digit = byte.wrapping_sub(b'0');
            if digit > 9 {
                break;
            }
            *number = number.wrapping_mul(10).wrapping_add(u64::from(digit));
            count += 1;
        }
        self.at += count;
        count
    }

    /// Takes a number without making one.
    #[inline]
    fn numeral(&mut self) -> Scan<Numeral> {
        let start = self.at;
        let is_negative = self.peek()? == b'-';
        if is_negative {
            self.at += 1;
        }
        let starts_with_zero = self.peek()? == b'0';
        let mut digits = 0;
        let whole = self.digits(&mut digits);
        if whole == 0 || (starts_with_zero && whole > 1) {
            return Err(Stop::NotJson);
        }
        let mut decimals = 0;
        if self.bytes().get(self.at) == Some(&b'.') {
            self.at += 1;
            decimals = self.digits(&mut digits);
            if decimals == 0 {
                return self.peek().and(Err(Stop::NotJson));
            }
        }
        let has_exponent = matches!(self.bytes().get(self.at), Some(b'e' | b'E'));
        if has_exponent {
            self.at += 1;
            if matches!(self.peek()?, b'+' | b'-') {
                self.at += 1;
            }
            if self.digits(&mut 0) == 0 {
                return self.peek().and(Err(Stop::NotJson));
            }
        }
        // A number at the very end of what was read may go on.
        self.peek()?;
        let is_exact = !has_exponent && whole + decimals <= EXACT_DIGITS;
        self.doubts += usize::from(!is_exact);
        Ok(Numeral {
            start,
            is_negative,
            digits,
            decimals,
            is_exact,
        })
    }

    /// Takes a number; the nearest double.
    #[inline]
    fn number(&mut self) -> Scan<f64> {
        let numeral = self.numeral()?;
        if numeral.is_exact
            && let Some(power) = POWERS.get(numeral.decimals)
        {
            // Both are exact, so their quotient is rounded once (Clinger 1990).
            #[expect(clippy::cast_precision_loss, reason = "15 digits are exact")]
            let magnitude = numeral.digits as f64 / power;
            return Ok(if numeral.is_negative {
                -magnitude
            } else {
                magnitude
            });
        }
        let text = self.text.get(numeral.start..self.at).unwrap_or_default();
        text.parse().map_err(|_| Stop::NotJson)
    }

    /// Takes a feature, its positions and its properties into buffers.
    ///
    /// # Errors
    /// When the text ends inside it or is not JSON.
    pub fn feature(
        &mut self,
        positions: &mut Positions,
        members: &mut Vec<Member<'a>>,
    ) -> Scan<Glance<'a>> {
        positions.clear();
        members.clear();
        let mut glance = Glance::default();
        let mut is_feature = false;
        let mut seen_geometry = false;
        if self.ahead()? != b'{' {
            self.skip(0)?;
            glance.is_odd = true;
            return Ok(glance);
        }
        let mut more = self.opens(b'{', b'}')?;
        while more {
            match self.name()? {
                Name::Type => {
                    glance.is_odd |= is_feature;
                    is_feature = self.value()? == "\"Feature\"";
                }
                Name::Id => {
                    glance.is_odd |= glance.id.is_some();
                    glance.id = Some(self.value()?);
                }
                Name::Properties => {
                    glance.is_odd |= glance.has_properties;
                    glance.has_properties = true;
                    glance.is_odd |= !self.properties(members)?;
                }
                Name::Geometry => {
                    glance.is_odd |= seen_geometry;
                    seen_geometry = true;
                    self.geometry(positions, &mut glance)?;
                }
                Name::Coordinates => self.skip(1)?,
                Name::Other(key) => {
                    glance.is_odd |= key == "\"bbox\"" || key.contains('\\');
                    self.skip(1)?;
                }
            }
            more = self.goes_on(b'}')?;
        }
        glance.is_odd |= !is_feature;
        if glance.is_odd {
            glance.bounds = None;
        }
        Ok(glance)
    }

    /// Takes properties; whether they are an object or null, and can be decoded.
    fn properties(&mut self, members: &mut Vec<Member<'a>>) -> Scan<bool> {
        if self.ahead()? != b'{' {
            return Ok(self.value()? == "null");
        }
        let mut are_decoded = true;
        let mut more = self.opens(b'{', b'}')?;
        while more {
            let doubts = self.doubts;
            let name = self.key()?;
            self.ahead()?;
            let start = self.at;
            self.skip(1)?;
            let value = self.text.get(start..self.at).unwrap_or_default();
            match Member::written(name, value, self.doubts == doubts) {
                Some(member) => members.push(member),
                None => are_decoded = false,
            }
            more = self.goes_on(b'}')?;
        }
        Ok(are_decoded)
    }

    fn geometry(&mut self, positions: &mut Positions, glance: &mut Glance<'a>) -> Scan<()> {
        if self.ahead()? != b'{' {
            glance.is_odd |= self.value()? != "null";
            return Ok(());
        }
        let mut has_coordinates = false;
        let mut more = self.opens(b'{', b'}')?;
        while more {
            match self.name()? {
                Name::Type => {
                    glance.is_odd |= glance.kind.is_some();
                    glance.kind = Kind::of(self.value()?.as_bytes());
                }
                Name::Coordinates => {
                    glance.is_odd |= has_coordinates;
                    has_coordinates = true;
                    self.ahead()?;
                    if !self.plain_position(positions, 1) {
                        self.coordinates(positions, 1)?;
                    }
                }
                _ => {
                    glance.is_odd = true;
                    self.skip(2)?;
                }
            }
            more = self.goes_on(b'}')?;
        }
        match glance.kind {
            Some(kind) if kind.depth() == positions.depth && !positions.is_odd => {
                glance.bounds = positions.bounds();
                glance.is_odd |= glance.bounds.is_none();
            }
            _ => glance.is_odd = true,
        }
        Ok(())
    }

    fn coordinates(&mut self, positions: &mut Positions, depth: usize) -> Scan<()> {
        if self.ahead()? != b'[' {
            positions.is_odd = true;
            return self.skip(depth);
        }
        if depth > DEEPEST {
            return Err(Stop::NotJson);
        }
        if !self.opens(b'[', b']')? {
            positions.is_odd = true;
            return Ok(());
        }
        if matches!(self.ahead()?, b'-' | b'0'..=b'9') {
            return self.position(positions, depth);
        }
        loop {
            if !self.plain_position(positions, depth + 1) {
                self.coordinates(positions, depth + 1)?;
            }
            if !self.goes_on(b']')? {
                break;
            }
        }
        match positions.depth.checked_sub(depth) {
            Some(1) => positions.lines.push(positions.flat.len()),
            Some(2) => positions.polygons.push(positions.lines.len()),
            _ => {}
        }
        Ok(())
    }

    /// Takes a position of two plain numbers without white space; false, and nothing taken, where
    /// there is something else.
    #[inline]
    fn plain_position(&mut self, positions: &mut Positions, depth: usize) -> bool {
        let Some((position, end)) = eight::pair(self.bytes(), self.at) else {
            return false;
        };
        positions.is_odd |= positions.depth != 0 && positions.depth != depth;
        positions.depth = depth;
        positions.flat.push(position);
        self.at = end;
        true
    }

    fn position(&mut self, positions: &mut Positions, depth: usize) -> Scan<()> {
        positions.is_odd |= positions.depth != 0 && positions.depth != depth;
        positions.depth = depth;
        let mut position = [f64::NAN; 2];
        let mut count = 0;
        loop {
            match self.ahead()? {
                b'-' | b'0'..=b'9' => {
                    let number = self.number()?;
                    positions.is_odd |= !number.is_finite();
                    if let Some(slot) = position.get_mut(count) {
                        *slot = number;
                    }
                }
                _ => {
                    positions.is_odd = true;
                    self.skip(depth)?;
                }
            }
            count += 1;
            if !self.goes_on(b']')? {
                break;
            }
        }
        positions.is_odd |= count < 2;
        positions.flat.push(position);
        Ok(())
    }
}
