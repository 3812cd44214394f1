//! The trade knowledge: TOML figures into [`Knowledge`], with rules that find *all* problems.
//!
//! Never does arithmetic on chances: it reads, checks and hands over.

mod built_in;
mod check;
mod engine;
mod figure;
mod files;
mod fitted;
mod function;
mod kept;
mod load;
mod parsed;
mod part;
mod problem;
mod repair;
mod rules;
mod sign;
mod spanned;
mod word;

pub use check::{Access, Check, CheckKind, CheckRow, Cold, Hazard, Law, Per, Relative, Risk, Tool};
pub use engine::{
    CatchFigures, ChamberHeat, Complaint, ContextCell, ContextOffset, EngineFigures, HeatFigures,
    KindShare, RootLayer, StartFigures, TemperatureBand,
};
pub use figure::{Defaults, FigureOrigin};
pub use files::{KnowledgeFile, KnowledgeFiles};
pub use fitted::{FittedFrom, FittedLayer, FittedRoot, LAYER_FORMAT, LAYER_NAME};
pub use function::{Fold, Function, FunctionFrom};
pub use load::{Knowledge, load, load_kept};
pub use part::{Fault, Needs, Part, Scope, Share};
pub use problem::{KnowledgeErrors, Problem};
pub use repair::{Fix, Repair};
pub use sign::{Sign, SignLink, SignRow, When};
pub use spanned::Spanned;
pub use word::{IssueCode, Word};
