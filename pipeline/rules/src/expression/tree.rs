//! The expression tree: only what a rule may say, so that every later stage is total over it.

use std::fmt;
use std::ops::Range;

use crate::conditions::Comparison;

/// One part of an expression and where its text stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// What it says.
    pub kind: NodeKind,
    /// Bytes of the expression's own text.
    pub span: Range<usize>,
}

/// What a part of an expression says.
#[derive(Debug, Clone, PartialEq)]
pub enum NodeKind {
    /// A number as written.
    Number(f64),
    /// A text in single quotes.
    Text(String),
    /// `true` or `false`.
    Boolean(bool),
    /// A column, measure, criterion or rule.
    Name(String),
    /// `limits.NAME`.
    Limit(String),
    /// `-x`.
    Negate(Box<Node>),
    /// `not x`.
    Not(Box<Node>),
    /// `+ - * /`.
    Arithmetic(Arithmetic, Box<Node>, Box<Node>),
    /// `= <> < <= > >=`.
    Compare(Comparison, Box<Node>, Box<Node>),
    /// `a and b`.
    And(Box<Node>, Box<Node>),
    /// `a or b`.
    Or(Box<Node>, Box<Node>),
    /// `x [not] between low and high`.
    Between {
        /// What is tested.
        value: Box<Node>,
        /// Lower end, included.
        low: Box<Node>,
        /// Upper end, included.
        high: Box<Node>,
        /// `not between`.
        negated: bool,
    },
    /// `x [not] in (…)`.
    In {
        /// What is tested.
        value: Box<Node>,
        /// Numbers or texts.
        list: Vec<Node>,
        /// `not in`.
        negated: bool,
    },
    /// `x is [not] null | true | false`.
    Is {
        /// What is tested.
        value: Box<Node>,
        /// For what.
        test: Test,
        /// `is not`.
        negated: bool,
    },
    /// `case [operand] when … then … else … end`.
    Case {
        /// Compared with each `when` where present.
        operand: Option<Box<Node>>,
        /// `when` and `then`.
        branches: Vec<(Node, Node)>,
        /// `else`; unknown where absent.
        otherwise: Option<Box<Node>>,
    },
    /// A function of the allow-list.
    Call(Function, Vec<Node>),
}

/// The four operations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arithmetic {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`; by zero is unknown.
    Over,
}

/// What `is` tests for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Test {
    /// Unknown.
    Null,
    /// Known and true.
    True,
    /// Known and false.
    False,
}

/// The functions a rule may call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Function {
    /// Magnitude.
    Abs,
    /// Least of the known arguments.
    Least,
    /// Greatest of the known arguments.
    Greatest,
    /// First known argument.
    Coalesce,
    /// The first argument, unknown where it equals the second.
    Nullif,
}

impl Function {
    /// Every one, in the order messages list them.
    pub const ALL: [Self; 5] = [
        Self::Abs,
        Self::Least,
        Self::Greatest,
        Self::Coalesce,
        Self::Nullif,
    ];

    /// As written in a rule.
    pub fn name(self) -> &'static str {
        match self {
            Self::Abs => "abs",
            Self::Least => "least",
            Self::Greatest => "greatest",
            Self::Coalesce => "coalesce",
            Self::Nullif => "nullif",
        }
    }

    /// How many arguments it takes, least and most.
    pub fn arguments(self) -> (usize, usize) {
        match self {
            Self::Abs => (1, 1),
            Self::Least | Self::Greatest | Self::Coalesce => (2, 16),
            Self::Nullif => (2, 2),
        }
    }
}

impl Arithmetic {
    fn sign(self) -> &'static str {
        match self {
            Self::Plus => "+",
            Self::Minus => "-",
            Self::Times => "*",
            Self::Over => "/",
        }
    }
}

impl Comparison {
    /// As written in a rule.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Equal => "=",
            Self::Unequal => "<>",
            Self::Less => "<",
            Self::LessOrEqual => "<=",
            Self::Greater => ">",
            Self::GreaterOrEqual => ">=",
        }
    }

    /// The same comparison read from the right: `5 < x` is `x > 5`.
    #[must_use]
    pub fn turned(self) -> Self {
        match self {
            Self::Less => Self::Greater,
            Self::LessOrEqual => Self::GreaterOrEqual,
            Self::Greater => Self::Less,
            Self::GreaterOrEqual => Self::LessOrEqual,
            same => same,
        }
    }
}

impl fmt::Display for Node {
    /// One spelling per meaning, whatever the spaces and redundant brackets in the file: rules are
    /// hashed by it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let not = |negated: bool| if negated { "not " } else { "" };
        match &self.kind {
            NodeKind::Number(number) => write!(f, "{number}"),
            NodeKind::Text(text) => write!(f, "'{}'", text.replace('\'', "''")),
            NodeKind::Boolean(truth) => write!(f, "{truth}"),
            NodeKind::Name(name) => f.write_str(name),
            NodeKind::Limit(name) => write!(f, "limits.{name}"),
            NodeKind::Negate(inner) => write!(f, "(-{inner})"),
            NodeKind::Not(inner) => write!(f, "(not {inner})"),
            NodeKind::Arithmetic(operator, left, right) => {
                write!(f, "({left} {} {right})", operator.sign())
            }
            NodeKind::Compare(operator, left, right) => {
                write!(f, "({left} {} {right})", operator.sign())
            }
            NodeKind::And(left, right) => write!(f, "({left} and {right})"),
            NodeKind::Or(left, right) => write!(f, "({left} or {right})"),
            NodeKind::Between {
                value,
                low,
                high,
                negated,
            } => {
                write!(f, "({value} {}between {low} and {high})", not(*negated))
            }
            NodeKind::In {
                value,
                list,
                negated,
            } => {
                write!(f, "({value} {}in ({}))", not(*negated), joined(list))
            }
            NodeKind::Is {
                value,
                test,
                negated,
            } => {
                let what = match test {
                    Test::Null => "null",
                    Test::True => "true",
                    Test::False => "false",
                };
                write!(f, "({value} is {}{what})", not(*negated))
            }
            NodeKind::Case {
                operand,
                branches,
                otherwise,
            } => {
                f.write_str("(case")?;
                if let Some(operand) = operand {
                    write!(f, " {operand}")?;
                }
                for (when, then) in branches {
                    write!(f, " when {when} then {then}")?;
                }
                if let Some(otherwise) = otherwise {
                    write!(f, " else {otherwise}")?;
                }
                f.write_str(" end)")
            }
            NodeKind::Call(function, arguments) => {
                write!(f, "{}({})", function.name(), joined(arguments))
            }
        }
    }
}

fn joined(nodes: &[Node]) -> String {
    nodes
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(", ")
}
