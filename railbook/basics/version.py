"""The version, in one place: the package, the commands and the Summary tab show it."""

VERSION = "0.6.0"
