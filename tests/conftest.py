"""What all tests share."""

pytest_plugins = ["helpers.validation"]
