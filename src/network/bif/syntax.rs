//! Tokens into blocks: variables with states, probabilities with rows. A block that cannot be
//! read is told about and skipped, so that one file shows all its problems at once.
//!
//! Must not relate blocks to each other.

use super::problem::Problems;
use super::token::{Kind, Place, Token};

/// A name and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Name {
    pub text: String,
    pub place: Place,
}

/// `variable NAME { type discrete [ n ] { states }; }`
#[derive(Debug, Clone)]
pub(super) struct VariableBlock {
    pub name: Name,
    pub states: Vec<Name>,
}

/// What one row of a probability block speaks of.
#[derive(Debug, Clone)]
pub(super) enum RowKind {
    /// `table`: the whole table.
    Table,
    /// `default`: all joint states without a row.
    Default,
    /// `(state, ...)`: one joint state of the parents.
    Given(Vec<Name>),
}

#[derive(Debug, Clone)]
pub(super) struct Row {
    pub kind: RowKind,
    pub place: Place,
    pub chances: Vec<f64>,
}

/// `probability ( child | parents ) { rows }`
#[derive(Debug, Clone)]
pub(super) struct ProbabilityBlock {
    pub child: Name,
    pub parents: Vec<Name>,
    pub rows: Vec<Row>,
}

#[derive(Debug, Default)]
pub(super) struct Blocks {
    pub name: String,
    pub variables: Vec<VariableBlock>,
    pub probabilities: Vec<ProbabilityBlock>,
}

/// Already told about: the block is to be skipped.
struct Told;
type Read<T> = Result<T, Told>;

pub(super) fn blocks(tokens: &[Token], end: Place, problems: &mut Problems) -> Blocks {
    let mut parser = Parser {
        tokens,
        at: 0,
        end,
        problems,
    };
    let mut out = Blocks::default();
    while parser.at < tokens.len() {
        if parser.block(&mut out).is_err() {
            parser.skip_to_next_block();
        }
    }
    out
}

struct Parser<'a> {
    tokens: &'a [Token],
    at: usize,
    end: Place,
    problems: &'a mut Problems,
}

impl Parser<'_> {
    fn place(&self) -> Place {
        self.tokens.get(self.at).map_or(self.end, |t| t.place)
    }

    fn peek(&self) -> Option<&Kind> {
        self.tokens.get(self.at).map(|t| &t.kind)
    }

    fn is(&self, mark: char) -> bool {
        self.peek() == Some(&Kind::Mark(mark))
    }

    fn take(&mut self, mark: char) -> bool {
        let found = self.is(mark);
        self.at += usize::from(found);
        found
    }

    fn fail<T>(&mut self, wanted: &str, hint: &str) -> Read<T> {
        let found = match self.peek() {
            None => "the file ends".to_owned(),
            Some(Kind::Word(w)) => format!("`{}` stands", w.chars().take(40).collect::<String>()),
            Some(Kind::Mark(m)) => format!("`{m}` stands"),
        };
        let what = format!("{found} where {wanted} is wanted");
        self.problems.add(self.place(), what, hint);
        Err(Told)
    }

    fn expect(&mut self, mark: char, hint: &str) -> Read<()> {
        if self.take(mark) {
            Ok(())
        } else {
            self.fail(&format!("`{mark}`"), hint)
        }
    }

    fn word(&mut self, wanted: &str) -> Read<Name> {
        let place = self.place();
        if let Some(Kind::Word(text)) = self.peek() {
            let text = text.clone();
            self.at += 1;
            return Ok(Name { text, place });
        }
        self.fail(wanted, "write a name; quote it when it holds spaces")
    }

    /// Words up to a closing mark, commas or not between them.
    fn words(&mut self, close: char, wanted: &str) -> Read<Vec<Name>> {
        let mut words = Vec::new();
        while !self.take(close) {
            if !self.take(',') {
                words.push(self.word(wanted)?);
            }
        }
        Ok(words)
    }

    /// Skips to behind the next `;` of this level; properties may hold anything.
    fn skip_statement(&mut self) -> Read<()> {
        while self.at < self.tokens.len() && !self.is('}') {
            if self.take(';') {
                return Ok(());
            }
            self.at += 1;
        }
        self.fail("`;`", "end a property with ;")
    }

    fn skip_to_next_block(&mut self) {
        let starts = ["network", "variable", "probability"];
        self.at += 1;
        while let Some(kind) = self.peek() {
            // A block starts behind a closing brace, or the file is past saving anyway.
            let behind = self.tokens[self.at - 1].kind == Kind::Mark('}');
            if matches!(kind, Kind::Word(w) if behind && starts.contains(&w.as_str())) {
                return;
            }
            self.at += 1;
        }
    }

    fn block(&mut self, out: &mut Blocks) -> Read<()> {
        let place = self.place();
        let head = self.word("a block")?;
        match head.text.as_str() {
            "network" => {
                if let Some(Kind::Word(_)) = self.peek() {
                    out.name = self.word("a name")?.text;
                }
                self.expect('{', "open the block with {")?;
                while !self.take('}') {
                    self.skip_statement()?;
                }
                Ok(())
            }
            "variable" => {
                let block = self.variable()?;
                out.variables.push(block);
                Ok(())
            }
            "probability" => {
                let block = self.probability()?;
                out.probabilities.push(block);
                Ok(())
            }
            other => {
                let other = other.chars().take(40).collect::<String>();
                let what = format!("`{other}` starts no block");
                let hint = "use network, variable or probability";
                self.problems.add(place, what, hint);
                Err(Told)
            }
        }
    }

    fn variable(&mut self) -> Read<VariableBlock> {
        let name = self.word("the name of a variable")?;
        self.expect('{', "open the block with {")?;
        let mut states = None;
        while !self.take('}') {
            let statement = self.word("`type`")?;
            match statement.text.as_str() {
                "type" => states = Some(self.states()?),
                "property" => self.skip_statement()?,
                _ => {
                    self.at -= 1;
                    return self.fail("`type`", "write type discrete [ 2 ] { no, yes };");
                }
            }
        }
        let Some(states) = states else {
            let what = format!("variable `{}` has no states", name.text);
            let hint = "write type discrete [ 2 ] { no, yes };";
            self.problems.add(name.place, what, hint);
            return Ok(VariableBlock {
                name,
                states: Vec::new(),
            });
        };
        Ok(VariableBlock { name, states })
    }

    fn states(&mut self) -> Read<Vec<Name>> {
        let kind = self.word("`discrete`")?;
        // `discrete[2]` comes as a word and marks; some writers leave out the space.
        if kind.text != "discrete" {
            self.at -= 1;
            return self.fail(
                "`discrete`",
                "only variables with a list of states can be read",
            );
        }
        self.expect('[', "give the number of states: [ 2 ]")?;
        let count = self.word("the number of states")?;
        self.expect(']', "close the number with ]")?;
        if matches!(self.peek(), Some(Kind::Word(w)) if w == "=") {
            self.at += 1;
        }
        self.expect('{', "list the states in { }")?;
        let states = self.words('}', "a state")?;
        self.take(';');
        if count.text.parse::<usize>() != Ok(states.len()) {
            let what = format!("{} states are listed, not {}", states.len(), count.text);
            self.problems
                .add(count.place, what, "make the number and the list agree");
        }
        Ok(states)
    }

    fn probability(&mut self) -> Read<ProbabilityBlock> {
        self.expect('(', "write probability ( child | parents )")?;
        let child = self.word("the child")?;
        self.take('|');
        let parents = self.words(')', "a parent")?;
        self.expect('{', "open the block with {")?;
        let mut rows = Vec::new();
        while !self.take('}') {
            let place = self.place();
            let kind = if self.take('(') {
                RowKind::Given(self.words(')', "a state")?)
            } else {
                let statement = self.word("`table`, `default` or `(`")?;
                match statement.text.as_str() {
                    "table" => RowKind::Table,
                    "default" => RowKind::Default,
                    "property" => {
                        self.skip_statement()?;
                        continue;
                    }
                    _ => {
                        self.at -= 1;
                        let hint = "write table 0.9, 0.1; or (state) 0.9, 0.1;";
                        return self.fail("`table`, `default` or `(`", hint);
                    }
                }
            };
            let chances = self.chances()?;
            rows.push(Row {
                kind,
                place,
                chances,
            });
        }
        Ok(ProbabilityBlock {
            child,
            parents,
            rows,
        })
    }

    fn chances(&mut self) -> Read<Vec<f64>> {
        let mut chances = Vec::new();
        while !self.take(';') {
            if self.take(',') {
                continue;
            }
            let word = self.word("a chance or `;`")?;
            match word.text.parse::<f64>() {
                Ok(chance) if chance.is_finite() && chance >= 0.0 => chances.push(chance),
                _ => {
                    self.at -= 1;
                    return self.fail(
                        "a chance",
                        "write a number from 0 to 1, such as 0.25 or 1e-3",
                    );
                }
            }
        }
        Ok(chances)
    }
}
