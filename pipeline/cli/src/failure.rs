//! Everything that ends a command, and the one way in which it is printed.

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, MietteHandlerOpts};

use crate::arguments::{Arguments, Color};

/// Why a command was not done.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Something with a place in a file: printed with an excerpt.
    Diagnostic(Box<dyn Diagnostic + Send + Sync>),
    /// Something else, with its causes.
    Plain(Box<dyn std::error::Error + Send + Sync>),
    /// stdout or a file could not be written.
    Write(std::io::Error),
}

impl Failure {
    pub(crate) fn plain(error: impl std::error::Error + Send + Sync + 'static) -> Self {
        Self::Plain(Box::new(error))
    }

    pub(crate) fn text(text: impl Into<String>) -> Self {
        Self::Plain(text.into().into())
    }

    pub(crate) fn diagnostic(error: impl Diagnostic + Send + Sync + 'static) -> Self {
        Self::Diagnostic(Box::new(error))
    }

    pub(crate) fn is_broken_pipe(&self) -> bool {
        matches!(self, Self::Write(error) if error.kind() == std::io::ErrorKind::BrokenPipe)
    }

    /// Prints to stderr.
    pub(crate) fn print(self) {
        use std::io::Write;
        let mut stderr = std::io::stderr().lock();
        // Nothing can be done when stderr is gone.
        let _ = match self {
            Self::Diagnostic(diagnostic) => {
                writeln!(stderr, "{:?}", miette::Report::new_boxed(diagnostic))
            }
            Self::Plain(error) => {
                let mut text = format!("error: {error}");
                let mut cause = error.source();
                while let Some(next) = cause {
                    let next_text = next.to_string();
                    if !text.contains(&next_text) {
                        text.push_str(&format!("\n  because: {next_text}"));
                    }
                    cause = next.source();
                }
                writeln!(stderr, "{text}")
            }
            Self::Write(error) => writeln!(stderr, "error: cannot write the result: {error}"),
        };
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        Self::Write(error)
    }
}

/// Decides once how diagnostics look.
pub(crate) fn install(arguments: &Arguments) {
    let color = arguments.global.color;
    let plain = color == Color::Never
        || (color == Color::Auto
            && (std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
                || !std::io::IsTerminal::is_terminal(&std::io::stderr())));
    // The hook can be set once; a second call would only mean it is set already.
    let _ = miette::set_hook(Box::new(move |_| {
        if plain {
            Box::new(GraphicalReportHandler::new_themed(
                GraphicalTheme::unicode_nocolor(),
            ))
        } else {
            Box::new(MietteHandlerOpts::new().build())
        }
    }));
}
