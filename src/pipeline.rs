//! The one way from a season to a plan: expand, assign, assemble, verify.

use crate::error::{Code, Error, Finding};
use crate::plan::{Plan, assemble};
use crate::season::Season;
use crate::{expand, verify, workload};

/// Plans a season. `findings` are those that came with reading it; they go into the plan.
///
/// # Errors
/// An internal error if the model fails, or if the finished plan does not hold against the
/// season: no plan leaves this function unverified.
pub fn plan(season: &Season, findings: &[Finding]) -> Result<Plan, Error> {
    let expanded = expand::expand(season);
    let workload = workload::assign(season, &expanded).map_err(|fault| {
        Error::internal(vec![
            Finding::error(Code::Verify, fault.to_string())
                .hint("please report this with the season file"),
        ])
    })?;
    let plan = assemble(season, &expanded, &workload, findings);
    let faults = verify::verify(season, &plan);
    if faults.is_empty() {
        Ok(plan)
    } else {
        Err(Error::internal(faults))
    }
}
