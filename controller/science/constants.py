"""The few fixed numbers that more than one formula needs."""

ZERO_CELSIUS = 273.15
"""0 degC on the absolute scale, [K]; exact. [1] BIPM, The International System of Units,
9th ed. 2019, section 2.3.1, doi:10.59161/AUEZ1291."""

GAS_CONSTANT = 8.314462618
"""Molar gas constant, [J/(mol K)]; exact before it is cut to ten digits. [1] E. Tiesinga et al.,
CODATA recommended values: 2018, Rev. Mod. Phys. 93 (2021), doi:10.1103/RevModPhys.93.025010."""

STANDARD_ATMOSPHERE = 101_325.0
"""One standard atmosphere, [Pa]; exact. [1] A. Thompson, B. N. Taylor, NIST SP 811, 2008,
appendix B.8, doi:10.6028/NIST.SP.811e2008."""

INCH_OF_MERCURY = 3386.389
"""The conventional inch of mercury that vacuum gauges count in, [Pa]. [1] A. Thompson,
B. N. Taylor, NIST SP 811, 2008, appendix B.8, doi:10.6028/NIST.SP.811e2008; the last digits
from memory, to be checked. The inch "at 60 degF" of older tables is 0.3 % smaller."""
