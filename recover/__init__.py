"""recover: assess a kiln that has been under water, plan its recovery, write its papers."""

__version__ = "0.2.0"
