"""The physics of light airplanes: pure functions on floats and arrays.

SI in and SI out; each name that crosses a function's boundary says its unit,
and a name without one is a ratio. Arguments broadcast against each other, an
axis of draws being the last; NaN passes through. A value outside a function's
validity raises ``ValueError`` naming the argument, the limit and the value.

Results are for evaluating and comparing airplanes, not for flight planning or
operational use: the approved flight manual and licensed pilots govern.
"""
