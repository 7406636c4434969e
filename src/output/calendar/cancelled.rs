//! Events that the new plan does not have.

use icalendar::Property;

use super::component::Component;
use super::previous::Old;
use crate::base::time::Instant;

/// What stands in front of a cancelled event's summary, for programs that do not show the status.
const CANCELLED: &str = "CANCELLED: ";

/// An event that the new plan does not have: as it was, but cancelled, without reminders.
pub(super) fn cancelled(uid: &str, old: &Old, stamp: Instant) -> Component {
    let revision = old.revision.after(old.cancelled, stamp);
    let mut made = revision.tell(Component::new("VEVENT").text("UID", uid), "CANCELLED");
    for line in &old.lines {
        let again = [
            "UID",
            "DTSTAMP",
            "LAST-MODIFIED",
            "SEQUENCE",
            "STATUS",
            "TRANSP",
        ];
        made = match line.name.as_str() {
            name if again.contains(&name) => made,
            "SUMMARY" if !line.value.starts_with(CANCELLED) => {
                made.text("SUMMARY", &format!("{CANCELLED}{}", line.value))
            }
            _ => made.kept(&line.text),
        };
    }
    made.with(Property::new("TRANSP", "TRANSPARENT"))
}
