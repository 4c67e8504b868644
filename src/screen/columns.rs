//! The columns of a screening: their names with units, what they hold, and the cells of one row.
//!
//! Described for users in `docs/screening.md`, which a test holds to this list. Not here: how cells
//! are written (see [`super::table`] and [`super::formats`]).

use std::borrow::Cow;

use crate::answer::{WishState, ZoneState};
use crate::batch::{
    Case, CaseAnswer, Ceiling, CeilingOf, Common, NotScreened, Reason, Reasons, Row,
};
use crate::profile::Reference;
use crate::units::Metres;

/// What every row ends with: the caution that each output carries, in short. A row without it is not
/// whole.
pub const CAUTION: &str = "aid to planning; the authority decides; not for navigation";

/// What stands between codes in one cell.
pub const BETWEEN_CODES: &str = " ";

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Text.
    Text,
    /// A whole number.
    Integer,
    /// A number with so many decimals.
    Number(u8),
}

/// One column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name, with the unit.
    pub name: String,
    /// What it holds.
    pub kind: Kind,
}

/// One cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell<'a> {
    /// Nothing: not given, not known, or not asked.
    None,
    /// Text.
    Text(Cow<'a, str>),
    /// A whole number.
    Integer(u64),
    /// A number, rounded to the safe side already.
    Number(f64),
}

/// Whether a site was answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Every question was answered.
    Answered,
    /// Answered with something undecided or conditional.
    Undecided,
    /// Not answered.
    NotAnswered,
}

impl Status {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Answered, Self::Undecided, Self::NotAnswered];

    /// Its code in files.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Answered => "answered",
            Self::Undecided => "undecided",
            Self::NotAnswered => "not_answered",
        }
    }
}

const BEFORE_CASES: [(&str, Kind); 17] = [
    ("row", Kind::Integer),
    ("id", Kind::Text),
    ("name", Kind::Text),
    ("status", Kind::Text),
    ("error", Kind::Text),
    ("lon_deg", Kind::Number(7)),
    ("lat_deg", Kind::Number(7)),
    ("area_m2", Kind::Number(1)),
    ("aerodrome", Kind::Text),
    ("reference", Kind::Text),
    ("distance_m", Kind::Number(2)),
    ("bearing_true_deg", Kind::Number(2)),
    ("bearing_magnetic_deg", Kind::Number(2)),
    ("zone", Kind::Text),
    ("zone_aerodrome", Kind::Text),
    ("zone_state", Kind::Text),
    ("zone_margin_m", Kind::Number(2)),
];

/// What one combination of reach, margin and accuracy answers.
const OF_CEILING: [(&str, Kind); 10] = [
    ("covered_share", Kind::Number(6)),
    ("shields_in_reach", Kind::Integer),
    ("not_shields_in_reach", Kind::Integer),
    ("ceiling_of", Kind::Text),
    ("ceiling_m_amsl", Kind::Number(2)),
    ("ceiling_m_agl", Kind::Number(2)),
    ("governing_term", Kind::Text),
    ("governing_shield", Kind::Text),
    ("governs_at_lon_deg", Kind::Number(7)),
    ("governs_at_lat_deg", Kind::Number(7)),
];

/// What one wished height adds to it.
const OF_WISH: [(&str, Kind); 3] = [
    ("wished_height_m_agl", Kind::Number(2)),
    ("wish", Kind::Text),
    ("wish_share", Kind::Number(6)),
];

const AFTER_CASES: [(&str, Kind); 3] = [
    ("reasons", Kind::Text),
    ("not_assessed", Kind::Text),
    ("caution", Kind::Text),
];

/// The columns of one screening.
#[derive(Clone, Debug, PartialEq)]
pub struct Columns {
    list: Vec<Column>,
    groups: Vec<Group>,
    not_assessed: String,
}

/// The cases that differ in nothing but the wished height.
#[derive(Clone, Debug, PartialEq)]
struct Group {
    first: usize,
    wishes: Vec<usize>,
}

impl Columns {
    /// The columns for some cases. A value that is the same in all of them is in no name.
    #[must_use]
    pub fn of(cases: &[Case]) -> Self {
        let names = Names::of(cases);
        let mut groups: Vec<Group> = Vec::new();
        for (index, case) in cases.iter().enumerate() {
            let same = groups.iter_mut().find(|group| {
                cases
                    .get(group.first)
                    .is_some_and(|first| without_wish(first) == without_wish(case))
            });
            match same {
                Some(group) => group.wishes.push(index),
                None => groups.push(Group {
                    first: index,
                    wishes: vec![index],
                }),
            }
        }
        let plain = |(name, kind): &(&str, Kind)| Column {
            name: (*name).to_owned(),
            kind: *kind,
        };
        let mut list: Vec<Column> = BEFORE_CASES.iter().map(plain).collect();
        for group in &groups {
            let varied = |suffix: String| {
                move |(name, kind): &(&str, Kind)| Column {
                    name: format!("{name}{suffix}"),
                    kind: *kind,
                }
            };
            if let Some(case) = cases.get(group.first) {
                list.extend(OF_CEILING.iter().map(varied(names.of_ceiling(case))));
            }
            for case in group.wishes.iter().filter_map(|index| cases.get(*index)) {
                list.extend(OF_WISH.iter().map(varied(names.of_wish(case))));
            }
        }
        list.extend(AFTER_CASES.iter().map(plain));
        Self {
            list,
            groups,
            not_assessed: NotScreened::ALL
                .iter()
                .map(|it| it.code())
                .collect::<Vec<_>>()
                .join(BETWEEN_CODES),
        }
    }

    /// The columns, in order.
    #[must_use]
    pub fn list(&self) -> &[Column] {
        &self.list
    }

    /// Their names, in order.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        self.list.iter().map(|column| column.name.clone()).collect()
    }

    /// The place of a column by its name.
    #[must_use]
    pub fn place(&self, name: &str) -> Option<usize> {
        self.list.iter().position(|column| column.name == name)
    }

    /// For each combination of reach, margin and accuracy, what follows the names of its columns;
    /// and for each wished height in it, what follows the names of those.
    pub fn suffixes(&self) -> impl Iterator<Item = (String, Vec<String>)> + '_ {
        let of = |base: &str| {
            self.list
                .iter()
                .filter_map(|column| column.name.strip_prefix(base))
                .filter(|suffix| suffix.is_empty() || suffix.starts_with("__"))
                .map(str::to_owned)
                .collect::<Vec<_>>()
        };
        let mut wishes = of("wish").into_iter();
        of("ceiling_m_agl")
            .into_iter()
            .zip(&self.groups)
            .map(move |(suffix, group)| {
                (suffix, wishes.by_ref().take(group.wishes.len()).collect())
            })
            .collect::<Vec<_>>()
            .into_iter()
    }

    /// The cells of a row; `number` counts sites from 1.
    #[must_use]
    pub fn cells<'a>(
        &'a self,
        number: u64,
        name: Option<&'a str>,
        row: &'a Row,
        common: &Common,
    ) -> Vec<Cell<'a>> {
        let mut cells = Vec::with_capacity(self.list.len());
        before_cases(&mut cells, number, name, row, common);
        let mut reasons = row.reasons;
        for group in &self.groups {
            of_ceiling(&mut cells, row.cases.get(group.first), common);
            for case in &group.wishes {
                of_wish(&mut cells, row.cases.get(*case));
            }
        }
        for case in &row.cases {
            reasons = reasons.and(case.reasons);
        }
        cells.push(codes(reasons));
        cells.push(Cell::Text(Cow::Borrowed(&self.not_assessed)));
        cells.push(Cell::Text(Cow::Borrowed(CAUTION)));
        cells
    }
}

fn before_cases<'a>(
    cells: &mut Vec<Cell<'a>>,
    number: u64,
    name: Option<&'a str>,
    row: &'a Row,
    common: &Common,
) {
    let status = if row.error.is_some() {
        Status::NotAnswered
    } else if row.is_decided() {
        Status::Answered
    } else {
        Status::Undecided
    };
    cells.push(Cell::Integer(number));
    cells.push(Cell::Text(Cow::Borrowed(&row.id)));
    cells.push(name.map_or(Cell::None, |name| Cell::Text(Cow::Borrowed(name))));
    cells.push(code(status.code()));
    cells.push(text(row.error.as_deref().map(Cow::Borrowed)));
    cells.push(number_or_none(row.middle.map(|place| place.lon())));
    cells.push(number_or_none(row.middle.map(|place| place.lat())));
    cells.push(number_or_none(row.area_m2));
    let nearest = row.aerodrome.as_ref();
    let title = |aerodrome: usize| common.aerodrome_title(aerodrome).map(Cow::Owned);
    cells.push(text(nearest.and_then(|it| title(it.aerodrome))));
    cells.push(nearest.map_or(Cell::None, |it| code(reference(it.reference))));
    cells.push(number_or_none(nearest.map(|it| it.distance_m.m_down(2))));
    let bearing = |degrees: f64| {
        // 359.996 is 0.00 and not 360.00.
        let rounded = (degrees * 100.0).round() / 100.0;
        if rounded >= 360.0 { 0.0 } else { rounded }
    };
    let true_bearing = nearest.and_then(|it| it.bearing_true_deg);
    let magnetic = nearest.and_then(|it| it.bearing_magnetic_deg);
    cells.push(number_or_none(true_bearing.map(|it| bearing(it.degrees()))));
    cells.push(number_or_none(magnetic.map(|it| bearing(it.degrees()))));
    let zone = row.proximity.as_ref();
    let of = zone.and_then(|it| common.proximity_title(it.of));
    cells.push(text(of.map(Cow::Owned)));
    cells.push(text(zone.and_then(|it| title(it.aerodrome))));
    cells.push(zone.map_or(Cell::None, |it| code(zone_state(it.state))));
    let margin = zone.and_then(|it| it.margin_m);
    cells.push(number_or_none(margin.map(|it| it.m_down(2))));
}

fn of_ceiling(cells: &mut Vec<Cell<'_>>, case: Option<&CaseAnswer>, common: &Common) {
    let share = case.and_then(|case| case.covered_share);
    cells.push(number_or_none(share.map(share_down)));
    cells.push(case.map_or(Cell::None, |it| Cell::Integer(it.shields_in_reach as u64)));
    cells.push(case.map_or(Cell::None, |it| {
        Cell::Integer(it.not_shields_in_reach as u64)
    }));
    let part = case.and_then(|case| case.ceiling.as_ref());
    cells.push(part.map_or(Cell::None, |part| {
        code(match part.of {
            CeilingOf::Whole => "whole",
            CeilingOf::DeterminedPart => "determined_part",
        })
    }));
    cells.push(number_or_none(
        part.and_then(|part| Some(part.amsl?.value_m)),
    ));
    let agl: Option<&Ceiling> = part.map(|part| &part.above_ground);
    cells.push(number_or_none(agl.map(|it| it.value_m)));
    let term = agl.and_then(|it| common.term_title(it.term));
    cells.push(text(term.map(|it| Cow::Owned(it.to_owned()))));
    let shield = agl.and_then(|it| common.obstacle_title(it.shield?));
    cells.push(text(shield.map(Cow::Owned)));
    cells.push(number_or_none(agl.map(|it| it.governs_at.lon())));
    cells.push(number_or_none(agl.map(|it| it.governs_at.lat())));
}

fn of_wish(cells: &mut Vec<Cell<'_>>, case: Option<&CaseAnswer>) {
    let wish = case.and_then(|case| case.wish.as_ref());
    cells.push(number_or_none(wish.map(|it| it.height_m_agl.m_up(2))));
    cells.push(wish.map_or(Cell::None, |it| {
        code(match it.state {
            WishState::Everywhere => "everywhere",
            WishState::InPart => "in_part",
            WishState::Nowhere => "nowhere",
            WishState::Undetermined => "undetermined",
        })
    }));
    cells.push(number_or_none(wish.map(|it| share_down(it.share_allowed))));
}

/// A share rounded down to a millionth, so that it is 1 only when all is.
fn share_down(share: f64) -> f64 {
    (share * 1e6).floor() / 1e6
}

fn code<'a>(code: &'static str) -> Cell<'a> {
    Cell::Text(Cow::Borrowed(code))
}

fn text(text: Option<Cow<'_, str>>) -> Cell<'_> {
    text.map_or(Cell::None, Cell::Text)
}

fn number_or_none<'a>(number: Option<f64>) -> Cell<'a> {
    number
        .filter(|number| number.is_finite())
        .map_or(Cell::None, Cell::Number)
}

fn codes<'a>(reasons: Reasons) -> Cell<'a> {
    if reasons.is_empty() {
        return Cell::None;
    }
    let codes: Vec<&str> = reasons.iter().map(Reason::code).collect();
    Cell::Text(Cow::Owned(codes.join(BETWEEN_CODES)))
}

const fn reference(reference: Reference) -> &'static str {
    match reference {
        Reference::ReferencePoint => "reference_point",
        Reference::RunwayEnd => "runway_end",
        Reference::MovementArea => "movement_area",
        Reference::Boundary => "boundary",
    }
}

const fn zone_state(state: ZoneState) -> &'static str {
    match state {
        ZoneState::Inside => "inside",
        ZoneState::Straddles => "straddles",
        ZoneState::Outside => "outside",
        ZoneState::Undetermined => "undetermined",
    }
}

fn without_wish(case: &Case) -> (Option<Metres>, Option<Metres>, Option<Metres>) {
    (case.reach, case.margin, case.obstacle_accuracy)
}

/// Which values are varied, and so stand in the names of columns.
struct Names {
    reach: bool,
    margin: bool,
    accuracy: bool,
    wish: bool,
}

impl Names {
    fn of(cases: &[Case]) -> Self {
        let first = cases.first().copied().unwrap_or_default();
        let varies = |differs: &dyn Fn(&Case) -> bool| cases.iter().any(differs);
        Self {
            reach: varies(&|case| case.reach != first.reach),
            margin: varies(&|case| case.margin != first.margin),
            accuracy: varies(&|case| case.obstacle_accuracy != first.obstacle_accuracy),
            wish: varies(&|case| case.wish != first.wish),
        }
    }

    fn of_ceiling(&self, case: &Case) -> String {
        let mut suffix = String::new();
        for (is_varied, what, value) in [
            (self.reach, "reach", case.reach),
            (self.margin, "margin", case.margin),
            (self.accuracy, "accuracy", case.obstacle_accuracy),
        ] {
            if let Some(value) = value.filter(|_| is_varied) {
                suffix.push_str(&format!("__{what}_{}m", value.m()));
            }
        }
        suffix
    }

    fn of_wish(&self, case: &Case) -> String {
        let mut suffix = self.of_ceiling(case);
        if let Some(wish) = case.wish.filter(|_| self.wish) {
            suffix.push_str(&format!("__height_{}m", wish.m()));
        }
        suffix
    }
}
