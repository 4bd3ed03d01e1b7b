//! What was done in the wall and what it proves.
//!
//! Bags used give the density; a box filled and weighed, on a chart, says whether the machine can
//! be trusted; a thermal scan says how many bays were missed, and how sure that is. Put in the place
//! of what was assumed, they give the house as built.

mod built;
mod chart;
mod density;
mod document;
mod finding;
mod jobs;
mod machine;
mod receipt;
mod record;
mod scan;
mod share;
mod table;
mod words;

pub use built::{GoingBack, Measured, MissedShare, Missing, Proof, prove};
pub use chart::{Chart, Limits, Signal};
pub use density::{Achieved, achieved, bears, fill_volume_ft3};
pub use document::{changes_document, chart_document, stages_document};
pub use finding::{Found, PROOF_FINDINGS, ProofDef, ProofFinding};
pub use jobs::{
    Job, JobGroup, JobStanding, JobsError, JobsReview, RejectedJob, job_columns, review_jobs,
};
pub use machine::{MachineChart, machine_charts};
pub use receipt::{RULE as RECEIPT_RULE, Receipt, ReceiptPart};
pub use record::{AsBuilt, BoxCheck, FollowUp, JobRecord, ScanRecord, SurfaceRecord};
pub use scan::{ScanStanding, Tally, standing};
pub use share::{Confidence, Count, Interval, MOST_COUNT};
pub use table::Row;
pub use words::{Manner, jobs_account, proof_account, receipt_account};
