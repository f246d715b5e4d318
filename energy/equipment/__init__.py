"""What a dryer is built of: equations of hopper, blower, heater, desiccant, compressor and membrane."""
