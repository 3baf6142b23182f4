"""`warmdraw demo`: a made-up batch on a pretend rig, both processes and somebody at the page."""

from controller.demo.show import Wishes, run_demo

__all__ = ["Wishes", "run_demo"]
