//! Turns [`Records`] into a checked [`Instance`].
//!
//! Owns: the interning of skills, the resolution of ids and the range checks. Refuses: the first bad record in the
//! order depots, technicians, units, items, bookings, pins. A baseline entry for an item that no longer exists is
//! dropped: parts are scrapped between two plans.

use std::collections::HashMap;

use super::fault::{InstanceError, RecordKind};
use super::instance::{
    Before, Booking, DAY_MAX, DEPOTS_MAX, Depot, HORIZON_MAX, INSTANCE_FORMAT, Instance, Item, MINUTES_MAX, Records,
    SkillSet, TECHNICIANS_MAX, Technician, Unit, WEIGHT_MAX,
};

impl Instance {
    /// Reads and checks an instance written as JSON.
    pub fn from_json(text: &str) -> Result<Instance, InstanceError> {
        let records = serde_json::from_str(text)?;
        Instance::from_records(&records)
    }

    /// Checks records and resolves every reference among them.
    pub fn from_records(records: &Records) -> Result<Instance, InstanceError> {
        if records.format != INSTANCE_FORMAT {
            return Err(InstanceError::Format { found: records.format.clone() });
        }
        let whole = |name: &str, field, value: i32, low, high| {
            in_range(RecordKind::Instance, name, field, i64::from(value), low, high)
        };
        whole("horizon", "horizon", records.horizon, 1, i64::from(HORIZON_MAX))?;
        whole("setup_min", "setup_min", records.setup_min, 0, i64::from(MINUTES_MAX))?;
        few(RecordKind::Depot, records.depots.len(), DEPOTS_MAX)?;
        few(RecordKind::Technician, records.technicians.len(), TECHNICIANS_MAX)?;
        let mut skills = Skills::default();
        let mut instance = Instance {
            horizon: records.horizon,
            setup_minutes: records.setup_min,
            setup_skill: skills.set(std::slice::from_ref(&records.setup_skill))?,
            depots: Vec::new(),
            technicians: Vec::new(),
            units: Vec::new(),
            items: Vec::new(),
            bookings: Vec::new(),
        };
        let depots = add_depots(&mut instance, records)?;
        add_technicians(&mut instance, records, &depots, &mut skills)?;
        let units = add_units(&mut instance, records, &depots)?;
        let items = add_items(&mut instance, records, &units, &mut skills)?;
        add_bookings(&mut instance, records, &units)?;
        add_pins(&mut instance, records, &units, &items)?;
        for (id, day) in records.baseline.iter().flatten() {
            if let Some(&item) = items.get(id.as_str()) {
                instance.items[item].before = day.map_or(Before::Unplanned, Before::On);
            }
        }
        Ok(instance)
    }
}

/// Index of each id within its list.
type Ids<'a> = HashMap<&'a str, usize>;

#[derive(Default)]
struct Skills {
    bits: HashMap<String, u32>,
}

impl Skills {
    fn set(&mut self, names: &[String]) -> Result<SkillSet, InstanceError> {
        let mut set = 0;
        for name in names {
            let next = self.bits.len() as u32;
            let bit = match self.bits.get(name) {
                Some(&bit) => bit,
                None if next < u64::BITS => {
                    self.bits.insert(name.clone(), next);
                    next
                }
                None => return Err(InstanceError::TooManySkills { skill: name.clone(), most: u64::BITS }),
            };
            set |= 1 << bit;
        }
        Ok(SkillSet(set))
    }
}

fn in_range(
    record: RecordKind,
    id: &str,
    field: &'static str,
    value: i64,
    low: i64,
    high: i64,
) -> Result<(), InstanceError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(InstanceError::OutOfRange { record, id: id.to_owned(), field, value, low, high })
    }
}

fn few(record: RecordKind, count: usize, most: usize) -> Result<(), InstanceError> {
    if count <= most { Ok(()) } else { Err(InstanceError::TooMany { record, count, most }) }
}

fn enter<'a>(ids: &mut Ids<'a>, record: RecordKind, id: &'a str) -> Result<(), InstanceError> {
    let index = ids.len();
    match ids.insert(id, index) {
        None => Ok(()),
        Some(_) => Err(InstanceError::Duplicate { record, id: id.to_owned() }),
    }
}

fn resolve(
    ids: &Ids<'_>,
    record: RecordKind,
    id: &str,
    target: RecordKind,
    wanted: &str,
) -> Result<usize, InstanceError> {
    ids.get(wanted).copied().ok_or_else(|| InstanceError::Unknown {
        record,
        id: id.to_owned(),
        target,
        missing: wanted.to_owned(),
    })
}

fn mark_days(flags: &mut [bool], days: &[i32]) {
    for &day in days {
        if let Some(flag) = usize::try_from(day).ok().and_then(|day| flags.get_mut(day)) {
            *flag = true;
        }
    }
}

fn add_depots<'a>(instance: &mut Instance, records: &'a Records) -> Result<Ids<'a>, InstanceError> {
    let mut ids = Ids::new();
    for depot in &records.depots {
        enter(&mut ids, RecordKind::Depot, &depot.id)?;
        let mut closed = vec![false; instance.horizon as usize];
        mark_days(&mut closed, &depot.closed);
        instance.depots.push(Depot { id: depot.id.clone(), closed, technicians: Vec::new(), units: Vec::new() });
    }
    Ok(ids)
}

fn add_technicians(
    instance: &mut Instance,
    records: &Records,
    depots: &Ids<'_>,
    skills: &mut Skills,
) -> Result<(), InstanceError> {
    let kind = RecordKind::Technician;
    let mut ids = Ids::new();
    for technician in &records.technicians {
        enter(&mut ids, kind, &technician.id)?;
        for value in technician.minutes {
            in_range(kind, &technician.id, "minutes", i64::from(value), 0, i64::from(MINUTES_MAX))?;
        }
        let depot = resolve(depots, kind, &technician.id, RecordKind::Depot, &technician.depot)?;
        let mut idle = instance.depots[depot].closed.clone();
        mark_days(&mut idle, &technician.off);
        let minutes =
            idle.iter().enumerate().map(|(day, &idle)| if idle { 0 } else { technician.minutes[day % 7] }).collect();
        instance.depots[depot].technicians.push(instance.technicians.len());
        instance.technicians.push(Technician {
            id: technician.id.clone(),
            depot,
            skills: skills.set(&technician.skills)?,
            minutes,
        });
    }
    Ok(())
}

fn add_units<'a>(instance: &mut Instance, records: &'a Records, depots: &Ids<'_>) -> Result<Ids<'a>, InstanceError> {
    let mut ids = Ids::new();
    for unit in &records.units {
        enter(&mut ids, RecordKind::Unit, &unit.id)?;
        let depot = resolve(depots, RecordKind::Unit, &unit.id, RecordKind::Depot, &unit.depot)?;
        instance.depots[depot].units.push(instance.units.len());
        instance.units.push(Unit { id: unit.id.clone(), depot, items: Vec::new(), bookings: Vec::new() });
    }
    Ok(ids)
}

fn add_items<'a>(
    instance: &mut Instance,
    records: &'a Records,
    units: &Ids<'_>,
    skills: &mut Skills,
) -> Result<Ids<'a>, InstanceError> {
    let kind = RecordKind::Item;
    let mut ids = Ids::new();
    for item in &records.items {
        enter(&mut ids, kind, &item.id)?;
        let days = [("due", item.due), ("earliest", item.earliest), ("floor", item.floor)];
        for (field, value) in days {
            let far = i64::from(DAY_MAX);
            in_range(kind, &item.id, field, i64::from(value), -far, far)?;
        }
        in_range(kind, &item.id, "minutes", i64::from(item.minutes), 0, i64::from(MINUTES_MAX))?;
        in_range(kind, &item.id, "class_weight", item.class_weight, 0, WEIGHT_MAX)?;
        in_range(kind, &item.id, "waste_per_day", item.waste_per_day, 0, WEIGHT_MAX)?;
        let unit = resolve(units, kind, &item.id, RecordKind::Unit, &item.unit)?;
        instance.units[unit].items.push(instance.items.len());
        instance.items.push(Item {
            id: item.id.clone(),
            unit,
            due: item.due,
            earliest: item.earliest,
            floor: item.floor,
            minutes: item.minutes,
            skills: skills.set(&item.skills)?,
            class_weight: item.class_weight,
            waste_per_day: item.waste_per_day,
            pin: None,
            before: Before::Unknown,
        });
    }
    Ok(ids)
}

fn add_bookings(instance: &mut Instance, records: &Records, units: &Ids<'_>) -> Result<(), InstanceError> {
    let kind = RecordKind::Booking;
    let mut ids = Ids::new();
    for booking in &records.bookings {
        enter(&mut ids, kind, &booking.id)?;
        let far = i64::from(DAY_MAX);
        in_range(kind, &booking.id, "out", i64::from(booking.out), -far, far)?;
        in_range(kind, &booking.id, "in", i64::from(booking.back), i64::from(booking.out), far)?;
        let unit = resolve(units, kind, &booking.id, RecordKind::Unit, &booking.unit)?;
        instance.units[unit].bookings.push(instance.bookings.len());
        instance.bookings.push(Booking {
            id: booking.id.clone(),
            unit,
            out: booking.out,
            back: booking.back.min(instance.horizon),
        });
    }
    let Instance { units, bookings, .. } = instance;
    for unit in units {
        unit.bookings.sort_by_key(|&booking| (bookings[booking].out, booking));
    }
    Ok(())
}

fn add_pins(instance: &mut Instance, records: &Records, units: &Ids<'_>, items: &Ids<'_>) -> Result<(), InstanceError> {
    let kind = RecordKind::Pin;
    for pin in records.pins.iter().flatten() {
        let unit = resolve(units, kind, &pin.unit, RecordKind::Unit, &pin.unit)?;
        let last = i64::from(instance.horizon) - 1;
        in_range(kind, &pin.unit, "day", i64::from(pin.day), 0, last)?;
        for id in &pin.items {
            let item = resolve(items, kind, &pin.unit, RecordKind::Item, id)?;
            let item = &mut instance.items[item];
            if item.unit != unit {
                return Err(InstanceError::PinOfAnotherUnit { unit: pin.unit.clone(), item: id.clone() });
            }
            if item.pin.is_some_and(|day| day != pin.day) {
                return Err(InstanceError::PinnedTwice { item: id.clone() });
            }
            item.pin = Some(pin.day);
        }
    }
    Ok(())
}
